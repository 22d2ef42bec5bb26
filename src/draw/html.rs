//! A page as parts made of plain blocks, and the template that renders it as HTML.
//!
//! The template escapes every text. Only pictures are inserted unescaped: the program draws them,
//! and has already escaped the names in them.

use super::chart::{Chart, DESK, PHONE};
use super::palette;
use super::pieces::pieces;
use super::render::{self, ChartError};
use crate::terminal::mark;
use crate::terminal::words::tied;
use askama::Template;
use jiff::civil::Date;
use thiserror::Error;

/// A table or list with more rows than this is folded on a page.
pub(crate) const OPEN_ROWS: usize = 30;
/// Digest of the only script of a page; a browser runs no other.
const SCRIPT_DIGEST: &str = "sha256-kXq8bV6HNDhHg0t4H/CrCslMsu9fvle/6TvA5VRzItw=";

/// Style of line drawings, for every page that has some.
pub(crate) const DRAWING: &str = include_str!("../../templates/drawing.css");
/// Style of a page that fills one printed sheet.
const SHEET: &str = include_str!("../../templates/sheet.css");

#[derive(Debug, Error)]
pub enum PageError {
    #[error(transparent)]
    Chart(#[from] ChartError),
    #[error("the page could not be made: {0}")]
    Template(#[from] askama::Error),
}

/// A long page, with a list of its parts and a field to search it.
#[derive(Template)]
#[template(path = "report.html")]
pub(crate) struct Page {
    pub head: Head,
    pub made: String,
    pub parts: Vec<Part>,
}

/// The head of every page: title, allowed script, colours, and the foot of printed sheets.
#[derive(Clone, Debug, Template)]
#[template(path = "head.html")]
pub(crate) struct Head {
    title: String,
    /// Digest of the page's own script, if a browser may run one.
    script: Option<&'static str>,
    /// Printed at the foot of each sheet.
    foot: String,
    /// Styles in addition to those of every page.
    style: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PaperSize {
    A4,
    Letter,
}

#[derive(Template)]
#[template(path = "blocks.html")]
pub(crate) struct Blocks<'a> {
    blocks: &'a [Block],
}

/// A part of a page under a heading.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Part {
    pub id: &'static str,
    pub heading: &'static str,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Block {
    /// The first statement of a part, in large letters.
    Answer(String),
    Words(String),
    /// A command line to type.
    Command(String),
    Heading(String),
    List(Vec<String>),
    Table(PageTable),
    Figure(Figure),
    /// Content that is folded on a screen but printed in full.
    Fold(Fold),
}

/// Blocks folded under a summary line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fold {
    pub summary: String,
    pub open: bool,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Column {
    pub name: String,
    /// Whether it holds numbers, which are aligned at their end.
    pub numbers: bool,
}

/// A table whose first column names the rows.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PageTable {
    /// What it shows; may be empty if a heading says so already.
    pub caption: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<String>>,
}

/// A chart in two widths, for a desk and for a phone, with its caption. A long one for a desk is in
/// pieces, each on a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    pub title: String,
    pub wide: Vec<String>,
    pub narrow: String,
    pub caption: String,
}

impl Block {
    /// With every number tied to its unit, so that no line breaks between them.
    pub fn tied(self) -> Self {
        match self {
            Self::Answer(text) => Self::Answer(tied(&text)),
            Self::Words(text) => Self::Words(tied(&text)),
            Self::List(items) => Self::List(items.iter().map(|item| tied(item)).collect()),
            Self::Fold(Fold { summary, open, blocks }) => Self::Fold(Fold {
                summary: tied(&summary),
                open,
                blocks: blocks.into_iter().map(Self::tied).collect(),
            }),
            Self::Command(_) | Self::Heading(_) | Self::Table(_) | Self::Figure(_) => self,
        }
    }

    /// A table, folded under `summary` if it is long.
    pub fn long(table: PageTable, summary: &str) -> Self {
        if table.rows.len() <= OPEN_ROWS {
            return Self::Table(table);
        }
        let summary = format!("{summary} ({})", table.rows.len());
        Self::Fold(Fold { summary, open: false, blocks: vec![Self::Table(table)] })
    }
}

impl<'a> Blocks<'a> {
    pub fn of(blocks: &'a [Block]) -> Self {
        Self { blocks }
    }
}

impl Head {
    /// For a page without a script.
    pub fn plain(title: String, foot: &str) -> Self {
        Self { title, script: None, foot: in_style(foot), style: String::new() }
    }

    /// For a page with line drawings that fills one sheet of this paper.
    pub fn sheet(title: String, foot: &str, paper: PaperSize) -> Self {
        // CSS Paged Media Module Level 3, "page-size".
        let size = match paper {
            PaperSize::A4 => "A4",
            PaperSize::Letter => "letter",
        };
        let style = format!("{DRAWING}{SHEET}@page {{ size: {size}; }}\n");
        Self { style, ..Self::plain(title, foot) }
    }
}

impl Page {
    pub fn new(title: String, made: Date, parts: Vec<Part>) -> Self {
        let part = |part: Part| Part {
            blocks: part.blocks.into_iter().map(Block::tied).collect(),
            ..part
        };
        let head = Head::plain(title.clone(), &format!("{title}, {made}"));
        let head = Head { script: Some(SCRIPT_DIGEST), ..head };
        Self { head, made: made.to_string(), parts: parts.into_iter().map(part).collect() }
    }
}

/// A text escaped as a CSS string, so that nothing in it can end the string.
fn in_style(text: &str) -> String {
    let sign = |c: char| match c {
        'a'..='z' | 'A'..='Z' | '0'..='9' | ' ' => c.to_string(),
        // The space ends the escape sequence and is consumed with it.
        _ => format!("\\{:06x} ", u32::from(c)),
    };
    text.chars().map(sign).collect()
}

impl Column {
    pub fn words(name: impl Into<String>) -> Self {
        Self { name: name.into(), numbers: false }
    }

    pub fn numbers(name: impl Into<String>) -> Self {
        Self { name: name.into(), numbers: true }
    }

    /// Columns of words, and after them those of numbers.
    pub fn of(words: &[&str], numbers: &[&str]) -> Vec<Self> {
        let words = words.iter().map(|name| Self::words(*name));
        words.chain(numbers.iter().map(|name| Self::numbers(*name))).collect()
    }
}

impl PageTable {
    pub fn new(
        caption: impl Into<String>,
        columns: Vec<Column>,
        rows: impl IntoIterator<Item = Vec<String>>,
    ) -> Self {
        Self { caption: caption.into(), columns, rows: rows.into_iter().collect() }
    }

    /// Without those columns after the first whose cells are all empty.
    #[must_use]
    pub fn without_empty_columns(mut self) -> Self {
        for at in (1..self.columns.len()).rev() {
            if self.rows.iter().all(|row| row.get(at).is_none_or(String::is_empty)) {
                self.columns.remove(at);
                self.rows.iter_mut().for_each(|row| drop(row.remove(at)));
            }
        }
        self
    }
}

impl Figure {
    /// Draws the chart in both widths, as SVG.
    pub fn of(draw: &dyn Fn(f64) -> Chart) -> Result<Self, ChartError> {
        let wide = draw(DESK);
        let parts = pieces(&wide.scene);
        let title = |at: usize| match parts.len() {
            1 => wide.title.clone(),
            count => format!("{} ({} of {count})", wide.title, at + 1),
        };
        let piece = |(at, scene)| render::svg(scene, &title(at), &wide.caption);
        Ok(Self {
            wide: parts.iter().enumerate().map(piece).collect::<Result<_, _>>()?,
            narrow: draw(PHONE).figure()?,
            title: wide.title,
            caption: wide.caption,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_foot_never_ends_its_string() {
        let foot = in_style("a\"</style>\\\n");
        assert_eq!(foot, "a\\000022 \\00003c \\00002f style\\00003e \\00005c \\00000a ");
    }

    #[test]
    fn a_column_that_says_nothing_is_left_out() {
        let columns = ["trial", "hand", "note"].map(Column::words).to_vec();
        let row = vec!["T1".to_owned(), String::new(), "fine".to_owned()];
        let table = PageTable::new("", columns, [row]).without_empty_columns();
        assert_eq!(table.columns, ["trial", "note"].map(Column::words));
        assert_eq!(table.rows, [["T1", "fine"]]);
    }

    #[test]
    fn long_tables_are_folded() {
        let table =
            |rows| PageTable::new("", vec![Column::words("x")], vec![vec!["x".to_owned()]; rows]);
        assert!(matches!(Block::long(table(OPEN_ROWS), "all"), Block::Table(_)));
        let Block::Fold(fold) = Block::long(table(OPEN_ROWS + 1), "all") else { panic!() };
        assert_eq!((fold.summary.as_str(), fold.open), ("all (31)", false));
    }
}
