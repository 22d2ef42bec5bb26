//! Finds the plan of `--plan`: a saved plan, a kept forecast, or a file.

use super::command_changed::Changes;
use super::command_words::Words;
use crate::book::{Book, Location, PlanFile, entry_named, read_plan_file};
use crate::jobs::keep::answer_options::kept_words;
use crate::terminal::input::bytes_of;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::suggest::unknown;
use crate::trade::{KeptForecast, NO_HAND, Name, PlanWords, RUN_KEYS, WHOLE_KEYS};
use crate::units::shown;
use std::path::Path;

/// A planned book as it was typed, before anything is looked up.
#[derive(Clone, Debug)]
pub(crate) struct PlanSpec {
    /// Words about the whole book.
    pub(super) whole: Words,
    /// Words about each of its runs, one or more.
    pub(super) runs: Vec<Words>,
    /// The name of the saved plan or kept forecast; `None` for a file or flags alone.
    pub(super) name: Option<Name>,
    /// What options changed about its leaves.
    pub(super) changes: Changes,
}

/// The plan that `typed` names. Text that looks like a file is read as one, whatever the book
/// holds.
pub(super) fn described(
    typed: &Path,
    session: &mut Session<'_>,
    book: &Book,
) -> Result<PlanSpec, CliError> {
    if let Some(name) = typed.to_str().map(str::trim).filter(|name| !is_file(name)) {
        if let Some(found) = in_book(name, book)? {
            return Ok(found);
        }
        if !name.contains(['/', '\\']) && !session.folder().join(typed).exists() {
            return Err(CliError::value("--plan", missing(name, book)));
        }
    }
    let (bytes, name) = bytes_of(typed, session)?;
    let PlanFile { name, whole, runs } = read_plan_file(&bytes, &name)?;
    Ok(PlanSpec {
        whole: Words::of_table(&name, whole),
        runs: runs.into_iter().map(|run| Words::of_table(&name, run)).collect(),
        name: None,
        changes: Changes::default(),
    })
}

/// Whether the text always means a file: `-`, a path such as `./NAME`, or a name ending in .toml.
fn is_file(text: &str) -> bool {
    const STARTS: [&str; 7] = ["./", "../", "~/", "/", ".\\", "..\\", "\\"];
    let is_path = STARTS.iter().any(|it| text.starts_with(it));
    ["-", ".", ".."].contains(&text) || is_path || text.to_ascii_lowercase().ends_with(".toml")
}

/// Parses a name that `--plan` will not take for a file.
pub(crate) fn plan_name(flag: &'static str, typed: &str) -> Result<Name, CliError> {
    let name: Name = by_flag(flag, typed, str::parse)?;
    if !is_file(name.as_str()) {
        return Ok(name);
    }
    let message = format!(
        "--plan would take '{name}' for a file; choose a name that does not end in .toml and does \
         not begin like a path"
    );
    Err(CliError::Value { flag, message })
}

fn in_book(name: &str, book: &Book) -> Result<Option<PlanSpec>, CliError> {
    if let Some(plan) = entry_named(book.plans(), name) {
        return Ok(Some(PlanSpec::saved(&plan.name, &plan.words)));
    }
    let Some(kept) = last_kept(name, book) else { return Ok(None) };
    let words = kept_words(kept, book).ok_or_else(|| {
        let message = format!(
            "the plan of the kept forecast '{}' is free text; describe it with --paper, --thread \
             and the other options",
            kept.name
        );
        CliError::value("--plan", message)
    })?;
    Ok(Some(PlanSpec::saved(&kept.name, &words)))
}

/// The newest kept forecast with this name, else the one with this id.
fn last_kept<'b>(name: &str, book: &'b Book) -> Option<&'b KeptForecast> {
    let mut all = book.forecasts().iter().zip(book.forecast_ids()).rev();
    let named = all.clone().find(|(kept, _)| kept.name.as_str() == name);
    named.or_else(|| all.find(|(_, id)| id.as_str() == name)).map(|(kept, _)| kept)
}

/// The names that `--plan` accepts, each once, saved plans first.
pub(super) fn names(book: &Book) -> Vec<&str> {
    let saved = book.plans().iter().map(|plan| &plan.name);
    let all = saved.chain(book.forecasts().iter().map(|kept| &kept.name)).map(Name::as_str);
    let mut names: Vec<&str> = Vec::new();
    for name in all {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

fn missing(name: &str, book: &Book) -> String {
    match &names(book)[..] {
        [] => format!(
            "no plan '{}' in the book, and no file of that name; save one with predict --save",
            shown(name)
        ),
        names => format!("{} (and there is no file of that name)", unknown("plan", name, names)),
    }
}

impl PlanSpec {
    fn saved(name: &Name, words: &PlanWords) -> Self {
        let place = Location::file(&format!("plan '{name}'"));
        let runs = words.runs().iter().map(|run| Words::of_said(&place, run)).collect();
        let (name, whole) = (Some(name.clone()), Words::of_said(&place, words.whole()));
        Self { whole, runs, name, changes: Changes::default() }
    }

    /// Its name in messages.
    pub(super) fn called(&self) -> String {
        let file = || format!("the plan in {}", self.whole.file());
        self.name.as_ref().map_or_else(file, |name| format!("plan '{name}'"))
    }

    /// The plan without a hand if its words name none, so that it is saved and shown like that.
    pub(super) fn without_no_hand(mut self) -> Self {
        if self.whole.get("hand").map(str::trim) == Some(NO_HAND) {
            self.whole = self.whole.without("hand");
        }
        self
    }

    /// The plan with the flags replacing its own words. In a plan of several runs, flags may change
    /// nothing about a run except the ends, which then apply to the whole book.
    pub fn changed(mut self, flags: &Words) -> Result<Self, CliError> {
        let (of_whole, of_run) = (flags.clone().only(&WHOLE_KEYS), flags.clone().only(&RUN_KEYS));
        let ends = flags.clone().only(&["ends"]);
        if !ends.is_empty() {
            self.whole = self.whole.without("ends");
        }
        if let [run] = &mut self.runs[..] {
            // An unchanged run keeps its source, so that faults still name the plan.
            if !of_run.is_empty() {
                let before = std::mem::replace(run, of_run.clone().or_else(run));
                self.changes = Changes::of(&before, run, &of_run);
            }
            self.whole = of_whole.or_else(&self.whole);
            if self.changes.are_of_leaves() && self.whole.has(&["fore_edge"]) {
                self.whole = self.whole.without("fore_edge");
                self.changes.drop_fore_edge();
            }
            return Ok(self);
        }
        let of_run = of_run.without("ends");
        if !of_run.is_empty() {
            let (given, count) = (of_run.named(&of_run.keys()), self.runs.len());
            return Err(CliError::Usage(format!(
                "{given} can change only a plan of one run, and {} has {count}; describe each run \
                 with --run",
                self.called()
            )));
        }
        if !ends.is_empty() {
            self.runs = self.runs.into_iter().map(|run| run.without("ends")).collect();
        }
        self.whole = of_whole.or_else(&ends).or_else(&self.whole);
        Ok(self)
    }
}
