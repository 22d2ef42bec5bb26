//! Asks at a terminal for what a command needs about a book but was not typed.

use super::answer_offered::Offered;
use super::answer_typical::TYPICAL;
use super::command_asked_values::{extent, readings};
use super::command_named::{described, names};
use super::command_wanted::band_of;
use super::command_words::EXTENTS;
use crate::book::{Book, EntryKind, names_of};
use crate::jobs::entries::command_ids::new_name;
use crate::terminal::prompt::{Field, by_flag};
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values::{self, ValueError};
use crate::terminal::{suggest, values::optional};
use crate::trade::{Edge, Hardness, ranges};
use crate::units::{LengthUnit, parse_range};
use std::path::Path;

/// A command, and the value typed for the option with a given id.
pub(crate) struct Asking<'a> {
    pub command: &'a str,
    pub typed: &'a dyn Fn(&str) -> Option<String>,
    /// The answers that the command refused, such as `--spine=9.02;9.05`; empty at first.
    pub refused: &'a [String],
}

/// The value of an answer, if it is one to the option `flag`.
pub(crate) fn answer_to<'a>(flag: &str, answer: &'a str) -> Option<&'a str> {
    answer.strip_prefix(flag)?.strip_prefix('=')
}

/// The papers or threads of the book.
struct Stock<'b> {
    flag: &'static str,
    kind: EntryKind,
    names: Vec<&'b str>,
    /// The options that give the size of a new one, and which of them it needs.
    sizes: &'static [&'static str],
    needs: &'static str,
}

impl<'b> Stock<'b> {
    fn all(book: &'b Book) -> [Self; 2] {
        [
            Self {
                flag: "--paper",
                kind: EntryKind::Paper,
                names: names_of(book.papers()),
                sizes: &["caliper", "hardness"],
                needs: "--caliper and --hardness",
            },
            Self {
                flag: "--thread",
                kind: EntryKind::Thread,
                names: names_of(book.threads()),
                sizes: &["laid", "count"],
                needs: "--laid or --count",
            },
        ]
    }
}

/// The options that were answered, with their values.
pub(crate) type Answers = Vec<(&'static str, String)>;

impl Asking<'_> {
    fn has(&self, ids: &[&str]) -> bool {
        ids.iter().any(|id| (self.typed)(id).is_some())
    }

    /// The answer to the option `flag` that the command refused.
    fn refused(&self, flag: &str) -> Option<&str> {
        self.refused.iter().find_map(|answer| answer_to(flag, answer))
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
        let all = |ids: &[&str]| ids.iter().all(|id| self.has(&[id]));
        let book = match self.is_plan() {
            true => all(&["paper", "target"]) && self.has(self.extents()),
            false => {
                let said = all(&["paper", "thread", "sheets"]) && self.has(self.extents());
                self.is_described() || said
            }
        };
        let part = self.command != "midway" || all(&["sewn", "spine", "fore_edge"]);
        !(self.refused.is_empty() && book && part)
    }

    /// Asks for what is missing.
    pub fn answers(&self, session: &mut Session<'_>, book: &Book) -> Result<Answers, CliError> {
        self.check_typed(session, book)?;
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

    /// Refuses a name that was typed as an option, before anything is asked.
    fn check_typed(&self, session: &mut Session<'_>, book: &Book) -> Result<(), CliError> {
        for Stock { flag, kind, names, sizes, needs } in Stock::all(book) {
            // A plan may give the size of a new one.
            let kind = kind.word();
            let typed = (self.typed)(kind).filter(|_| !self.has(sizes) && !self.is_described());
            if let Some(typed) = typed.filter(|typed| !names.contains(&typed.trim())) {
                let unknown = suggest::unknown(kind, &typed, &names);
                return Err(CliError::value(
                    flag,
                    format!("{unknown} (a new {kind} needs {needs})"),
                ));
            }
        }
        if let Some(target) = (self.typed)("target") {
            by_flag("--target", &target, |typed| band_of(typed, book))?;
        }
        // What comes from a stream can be read only once.
        if let Some(plan) = (self.typed)("plan_file").filter(|plan| plan != "-") {
            described(Path::new(&plan), session, book)?;
        }
        Ok(())
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
        for stock in Stock::all(book) {
            let Stock { flag, names, sizes, .. } = &stock;
            let kind = stock.kind.word();
            if self.has(&[kind]) || self.is_plan() && stock.kind == EntryKind::Thread {
                continue;
            }
            if self.has(sizes) {
                self.new_stock(session, book, &stock, answers)?;
                continue;
            }
            let default = offered.get(kind).filter(|name| names.contains(name));
            let field = Field { flag, question: kind, default };
            answers.push((flag, session.choose(None, field, kind, names)?));
        }
        if !self.has(self.extents()) {
            let keys = self.extents();
            let question = match self.is_plan() {
                true => "leaves in the book, or pages, such as 384 pages",
                false => "sections, or the number of leaves or pages, such as 192 leaves",
            };
            let default = offered.extent(keys);
            let field = Field { flag: "--leaves", question, default: Some(&default) };
            answers.push(session.ask(field, |text| extent(text, keys))?);
        }
        if !self.is_plan() && !self.has(&["sheets"]) {
            let usual = TYPICAL.1.to_string();
            let default = offered.get("sheets").unwrap_or(&usual);
            let question = "folded sheets in a section";
            let field = Field { flag: "--sheets", question, default: Some(default) };
            let sheets: u16 = session.ask(field, |text| values::whole(text, ranges::SHEETS))?;
            answers.push(("--sheets", sheets.to_string()));
        }
        let again = self.refused("--target").is_some();
        if !self.has(&["target", "round"]) && (self.refused.is_empty() || again) {
            let target = self.target(session, book, offered.get("target"))?;
            answers.extend(target.map(|target| ("--target", target)));
        }
        Ok(())
    }

    /// A new paper or thread, whose size was typed: its name, and what its size still lacks.
    fn new_stock(
        &self,
        session: &mut Session<'_>,
        book: &Book,
        stock: &Stock<'_>,
        answers: &mut Answers,
    ) -> Result<(), CliError> {
        let Stock { flag, kind, .. } = *stock;
        let question = format!("name of the new {kind}");
        let field = Field { flag, question: &question, default: None };
        let name = session.ask(field, |text| new_name(kind, text, book))?;
        answers.push((flag, name.to_string()));
        let is_paper = kind == EntryKind::Paper;
        if is_paper && !self.has(&["caliper"]) {
            let field =
                Field { flag: "--caliper", question: "thickness of one leaf", default: None };
            let caliper = session.ask(field, |text| {
                values::length(text, book.config().unit, ranges::CALIPER)
                    .map(|_| text.trim().to_owned())
            })?;
            answers.push(("--caliper", caliper));
        }
        if is_paper && !self.has(&["hardness"]) {
            let field = Field { flag: "--hardness", question: "hardness", default: None };
            let hardness: Hardness = session.choose_word(None, field, Hardness::EACH)?;
            answers.push(("--hardness", hardness.to_string()));
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
        let names = names_of(book.targets());
        let is_there = |typed: &&str| names.contains(typed) || parse_range(typed).is_ok();
        let last = offered.filter(is_there);
        let last = last.map(|name| suggest::unmistakable(name, &names));
        let default = if self.is_plan() { last.as_deref() } else { Some("") };
        if !names.is_empty() {
            session.list("target", &names);
        }
        let question = "target: number, name, or LOW..HIGH in per cent";
        let field = Field { flag: "--target", question, default };
        let read = |text: &str| match parse_range(text) {
            Ok(_) => band_of(text, book).map(|_| text.trim().to_owned()),
            Err(_) => suggest::picked("target", text, &names).map_err(|known| {
                ValueError::Said(format!("{known} (or give LOW..HIGH, such as 25..35)"))
            }),
        };
        session.ask(field, |text| optional(text, read))
    }

    fn part(
        &self,
        session: &mut Session<'_>,
        unit: LengthUnit,
        answers: &mut Answers,
    ) -> Result<(), CliError> {
        if !self.has(&["sewn"]) {
            let field = Field { flag: "--sewn", question: "sections sewn so far", default: None };
            let sewn: u16 = session.ask(field, |text| values::whole(text, ranges::SECTIONS))?;
            answers.push(("--sewn", sewn.to_string()));
        }
        let edges =
            [("--spine", "spine", Edge::Spine), ("--fore-edge", "fore_edge", Edge::ForeEdge)];
        for (flag, id, edge) in edges {
            if !self.has(&[id]) {
                let before = self.refused(flag).unwrap_or_default();
                answers.push((flag, readings(session, flag, edge, unit, before)?));
            }
        }
        Ok(())
    }
}
