//! Asks at a terminal for what a command needs about a book but was not typed.

use super::answer_offered::Offered;
use super::answer_typical::TYPICAL;
use super::command_named::names;
use super::command_words::EXTENTS;
use crate::book::Book;
use crate::terminal::prompt::Field;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values::{self, ValueError};
use crate::terminal::{suggest, values::optional};
use crate::trade::{Edge, ranges};
use crate::units::{LengthUnit, parse_range};

/// A command, and whether the option with a given id was typed.
pub(crate) struct Asking<'a> {
    pub command: &'a str,
    pub given: &'a dyn Fn(&str) -> bool,
}

/// The options that were answered, with their values.
pub(crate) type Answers = Vec<(&'static str, String)>;

impl Asking<'_> {
    fn has(&self, ids: &[&str]) -> bool {
        ids.iter().any(|id| (self.given)(id))
    }

    fn is_plan(&self) -> bool {
        self.command == "plan"
    }

    fn extents(&self) -> &'static [&'static str] {
        if self.is_plan() { &EXTENTS[1..] } else { &EXTENTS }
    }

    /// Whether the book is fully described by runs, by a file or name, or by a new paper alone.
    fn is_described(&self) -> bool {
        self.has(&["runs", "plan_file", "new_paper"])
    }

    /// Whether anything that the command needs is missing.
    pub fn is_open(&self) -> bool {
        let all = |ids: &[&str]| ids.iter().all(|id| (self.given)(id));
        let book = match self.is_plan() {
            true => all(&["paper", "target"]) && self.has(self.extents()),
            false => {
                let said = all(&["paper", "thread", "sheets"]) && self.has(self.extents());
                self.is_described() || said
            }
        };
        !(book && (self.command != "midway" || all(&["sewn", "spine", "fore_edge"])))
    }

    /// Asks for what is missing.
    ///
    /// # Errors
    /// Same as [`Session::field`].
    pub fn answers(&self, session: &mut Session<'_>, book: &Book) -> Result<Answers, CliError> {
        let mut answers = Answers::new();
        let described = self.is_described() || self.named(session, book, &mut answers)?;
        if !described {
            self.book(session, book, &mut answers)?;
        }
        if self.command == "midway" {
            self.part(session, book.config().unit, &mut answers)?;
        }
        Ok(answers)
    }

    /// Offers the named plans of the book, unless the options already describe one. Returns whether
    /// one was chosen.
    fn named(
        &self,
        session: &mut Session<'_>,
        book: &Book,
        answers: &mut Answers,
    ) -> Result<bool, CliError> {
        let names = names(book);
        let is_begun = self.has(&["paper", "thread"]) || self.has(self.extents());
        if self.is_plan() || is_begun || names.is_empty() {
            return Ok(false);
        }
        let question = "a plan of the book, or Enter to describe one";
        let field = Field { flag: "--plan", question, default: Some("") };
        let chosen = session.choose_or_not(field, "plan", &names)?;
        answers.extend(chosen.iter().map(|name| ("--plan", name.clone())));
        Ok(chosen.is_some())
    }

    fn book(
        &self,
        session: &mut Session<'_>,
        book: &Book,
        answers: &mut Answers,
    ) -> Result<(), CliError> {
        let offered = Offered::of(book);
        let papers: Vec<&str> = book.papers().iter().map(|paper| paper.name.as_str()).collect();
        let threads: Vec<&str> = book.threads().iter().map(|thread| thread.name.as_str()).collect();
        let stock = [
            (("--paper", "paper"), papers, true),
            (("--thread", "thread"), threads, !self.is_plan()),
        ];
        for ((flag, kind), names, asked) in stock {
            if asked && !self.has(&[kind]) {
                let default = offered.get(kind).filter(|name| names.contains(name));
                let field = Field { flag, question: kind, default };
                answers.push((flag, session.choose(None, field, kind, &names)?));
            }
        }
        if !self.has(self.extents()) {
            let keys = self.extents();
            let question = match self.is_plan() {
                true => "leaves in the book, or pages, such as 384 pages",
                false => "sections, or the number of leaves or pages, such as 192 leaves",
            };
            let default = offered.extent(keys);
            let field = Field { flag: "--leaves", question, default: Some(&default) };
            answers.push(session.field(None, field, true, |text| extent(text, keys))?);
        }
        if !self.is_plan() && !self.has(&["sheets"]) {
            let usual = TYPICAL.1.to_string();
            let default = offered.get("sheets").unwrap_or(&usual);
            let question = "folded sheets in a section";
            let field = Field { flag: "--sheets", question, default: Some(default) };
            let sheets: u16 =
                session.field(None, field, true, |text| values::whole(text, ranges::SHEETS))?;
            answers.push(("--sheets", sheets.to_string()));
        }
        if !self.has(&["target", "round"]) {
            let target = self.target(session, book, offered.get("target"))?;
            answers.extend(target.map(|target| ("--target", target)));
        }
        Ok(())
    }

    /// The wanted swell; optional except for `plan`.
    fn target(
        &self,
        session: &mut Session<'_>,
        book: &Book,
        offered: Option<&str>,
    ) -> Result<Option<String>, CliError> {
        let names: Vec<&str> = book.targets().iter().map(|target| target.name.as_str()).collect();
        let is_there = |typed: &&str| names.contains(typed) || parse_range(typed).is_ok();
        let last = offered.filter(is_there);
        let default = if self.is_plan() { last } else { Some("") };
        if !names.is_empty() {
            session.list("target", &names);
        }
        let question = "target: number, name, or LOW..HIGH in per cent";
        let field = Field { flag: "--target", question, default };
        let read = |text: &str| match parse_range(text) {
            Ok(_) => Ok(text.trim().to_owned()),
            Err(_) => suggest::picked(text, &names).ok_or_else(|| {
                let known = suggest::unknown("target", text, &names);
                ValueError::Said(format!("{known} (or give LOW..HIGH, such as 25..35)"))
            }),
        };
        session.field(None, field, true, |text| optional(text, read))
    }

    /// Asks for the measured part of a sewing.
    fn part(
        &self,
        session: &mut Session<'_>,
        unit: LengthUnit,
        answers: &mut Answers,
    ) -> Result<(), CliError> {
        if !self.has(&["sewn"]) {
            let field = Field { flag: "--sewn", question: "sections sewn so far", default: None };
            let sewn: u16 =
                session.field(None, field, true, |text| values::whole(text, ranges::SECTIONS))?;
            answers.push(("--sewn", sewn.to_string()));
        }
        let edges =
            [("--spine", "spine", Edge::Spine), ("--fore-edge", "fore_edge", Edge::ForeEdge)];
        for (flag, id, edge) in edges {
            if !self.has(&[id]) {
                answers.push((flag, readings(session, flag, edge, unit)?));
            }
        }
        Ok(())
    }
}

/// Readings of an edge, one per line as a gauge sends them, until an empty line.
fn readings(
    session: &mut Session<'_>,
    flag: &'static str,
    edge: Edge,
    unit: LengthUnit,
) -> Result<String, CliError> {
    let symbol = unit.symbol();
    let first = format!("{edge} of the sewn part, {symbol}");
    let more = format!("{edge} at another place, {symbol}");
    let read = |text: &str| values::gauged(text, unit, ranges::THICKNESS);
    let mut all =
        vec![session.field(None, Field { flag, question: &first, default: None }, true, read)?];
    let field = Field { flag, question: &more, default: Some("") };
    while let Some(another) = session.field(None, field, true, |text| optional(text, read))? {
        all.push(another);
    }
    // Rounded to a tenth of the finest step that any gauge shows.
    let figure = |length| format!("{}", (unit.count(length) * 1e5).round() / 1e5);
    Ok(all.into_iter().map(figure).collect::<Vec<_>>().join(";"))
}

/// Parses `24`, `24 sections`, `192 leaves` or `384 pages` to an option and its number. A bare
/// number means the first of the `keys`.
fn extent(text: &str, keys: &[&'static str]) -> Result<(&'static str, String), ValueError> {
    let text = text.trim();
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let (number, word) = (&text[..end], text[end..].trim().to_lowercase());
    let meant = |key: &&&str| match **key {
        "leaves" => ["leaves", "leaf"].contains(&word.as_str()),
        key => [key, key.trim_end_matches('s')].contains(&word.as_str()),
    };
    let key = if word.is_empty() { keys.first() } else { keys.iter().find(meant) };
    let key = key.ok_or_else(|| {
        let known = keys.join(" or ");
        ValueError::Said(format!("expected a number, or a number followed by {known}"))
    })?;
    let (flag, range) = match *key {
        "sections" => ("--sections", ranges::SECTIONS),
        "leaves" => ("--leaves", ranges::PAGES),
        _ => ("--pages", ranges::PAGES),
    };
    let count: u32 = values::whole(number, range)?;
    Ok((flag, count.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_extent_is_a_number_with_its_word() {
        let said =
            |text: &str| extent(text, &EXTENTS).map(|(flag, number)| format!("{flag} {number}"));
        for (text, meant) in [
            ("24", "--sections 24"),
            (" 1 section", "--sections 1"),
            ("192 leaves", "--leaves 192"),
            ("384Pages", "--pages 384"),
        ] {
            assert_eq!(said(text), Ok(meant.to_owned()), "{text}");
        }
        for bad in ["", "leaves", "0", "24 sheets", "-3", "9999 sections"] {
            assert!(said(bad).is_err(), "{bad}");
        }
        assert_eq!(extent("192", &EXTENTS[1..]), Ok(("--leaves", "192".to_owned())));
    }
}
