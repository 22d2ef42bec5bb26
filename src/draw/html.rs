//! A page as parts of plain blocks, and the template that makes HTML of it.
//!
//! Every text is escaped by the template. Only pictures go in as they are: they are made here, and
//! the names in them are escaped where they are drawn.

use super::chart::Chart;
use super::palette;
use super::render::ChartError;
use crate::terminal::mark;
use crate::terminal::words::tied;
use askama::Template;
use jiff::civil::Date;
use thiserror::Error;

/// Why a page could not be made.
#[derive(Debug, Error)]
pub enum PageError {
    /// A chart in it could not be drawn.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// The template failed.
    #[error("the page could not be made: {0}")]
    Template(#[from] askama::Error),
}

#[derive(Template)]
#[template(path = "report.html")]
pub(crate) struct Page {
    pub kind: PageKind,
    pub title: String,
    pub made: String,
    pub parts: Vec<Part>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PageKind {
    /// Long, with a list of its parts.
    Report,
    /// One sheet at the bench.
    Card,
}

/// A part of a page under a heading.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Part {
    /// Its anchor.
    pub id: &'static str,
    pub heading: &'static str,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Block {
    Words(String),
    Heading(String),
    List(Vec<String>),
    Table(PageTable),
    Figure(Figure),
}

/// A table whose first cells name their rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct PageTable {
    /// What it shows; may be empty under a heading that says so.
    pub caption: String,
    pub columns: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

/// A chart in two widths, with its caption.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Figure {
    pub wide: String,
    pub narrow: String,
    pub caption: String,
}

/// A chart drawn for a desk and for a phone.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartPair {
    /// For a desk and for print.
    pub wide: Chart,
    /// For a phone.
    pub narrow: Chart,
}

impl Block {
    /// With every number tied to its unit.
    fn tied(self) -> Self {
        match self {
            Self::Words(text) => Self::Words(tied(&text)),
            Self::List(items) => Self::List(items.iter().map(|item| tied(item)).collect()),
            Self::Heading(_) | Self::Table(_) | Self::Figure(_) => self,
        }
    }
}

impl Page {
    /// A page of these parts, made on this day.
    pub fn new(kind: PageKind, title: String, made: Date, parts: Vec<Part>) -> Self {
        let part = |part: Part| Part {
            blocks: part.blocks.into_iter().map(Block::tied).collect(),
            ..part
        };
        Self { kind, title, made: made.to_string(), parts: parts.into_iter().map(part).collect() }
    }
}

impl PageTable {
    /// A table with these columns.
    pub fn new(caption: impl Into<String>, columns: &[&str]) -> Self {
        let columns = columns.iter().map(|&name| name.to_owned()).collect();
        Self { caption: caption.into(), columns, rows: Vec::new() }
    }
}

impl Figure {
    /// The two drawings as SVG.
    ///
    /// # Errors
    /// [`ChartError`].
    pub fn of(pair: &ChartPair) -> Result<Self, ChartError> {
        Ok(Self {
            wide: pair.wide.figure()?,
            narrow: pair.narrow.figure()?,
            caption: pair.wide.caption().to_owned(),
        })
    }
}
