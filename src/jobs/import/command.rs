//! `import`: a flat trial sheet into the book.

use super::text::{ImportView, doubts_text, import_json, import_text};
use crate::book::{
    Book, BookError, Entries, EntryKind, ImportPlan, SheetOptions, read_sheet, reading_id,
};
use crate::jobs::doubt::command::listed;
use crate::terminal::exit::ExitStatus;
use crate::terminal::input::bytes_of;
use crate::terminal::refusal::Outcome;
use crate::terminal::session::{Session, quoted};
use crate::trade::{DateOrder, Name, Reading};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Import a sheet of trials, as CSV from a spreadsheet
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook import old-trials.csv --dry-run
  swellbook import old-trials.csv

One row is one place measured. Columns may be in any order:
  trial, date, paper, hardness, grammage_gsm, caliper_mm,
  thread, laid_mm, sections, sheets, on, ends, boned,
  state, spine_mm, fore_edge_mm
and, if you have them:
  count, material, kind, guards_mm, hand, place, note, taken")]
#[command(after_long_help = "\
Importing a sheet a second time adds nothing. If any row is wrong, nothing is added and every wrong \
row is listed.")]
pub(crate) struct Args {
    /// Sheet to import; - reads standard input
    sheet: PathBuf,
    /// Show what would be added, but add nothing
    #[arg(long)]
    dry_run: bool,
    /// Order of day, month and year in dates that are not YYYY-MM-DD
    #[arg(long, value_name = "ORDER", value_parser = ["ymd", "dmy", "mdy"])]
    date_order: Option<String>,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// A sheet that was read, and how its dates are meant.
pub(crate) struct Sheet {
    pub name: String,
    pub bytes: Vec<u8>,
    pub date_order: Option<String>,
}

/// What becomes of it.
#[derive(Clone, Copy)]
pub(crate) struct How {
    pub dry_run: bool,
    pub json: bool,
}

impl Sheet {
    /// What it would add to a book.
    ///
    /// # Errors
    /// [`BookError::Faults`] with everything that is wrong with it.
    pub fn planned(&self, book: &Book) -> Result<ImportPlan, BookError> {
        let date_order = self.date_order.as_deref().and_then(date_order_of);
        let options = SheetOptions { date_order, unit: book.config().unit };
        book.plan_import(&read_sheet(&self.bytes, &self.name, &options)?)
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    session.open_book()?;
    let (bytes, name) = bytes_of(&args.sheet, session)?;
    let sheet = Sheet { name, bytes, date_order: args.date_order };
    added(sheet, How { dry_run: args.dry_run, json: args.json }, session)
}

/// Adds a sheet to the book, or says what it would add.
///
/// # Errors
/// Those of [`Sheet::planned`] and of writing.
pub(crate) fn added(sheet: Sheet, how: How, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let mut plan = sheet.planned(&book)?;
    let Sheet { name, bytes, .. } = sheet;
    drop(bytes);
    let doubts = listed(session, &book, &plan.entries);
    let view = ImportView { sheet: &name, plan: &plan, dry_run: how.dry_run, doubts: &doubts };
    let json = how.json.then(|| import_json(&view));
    let mut text = import_text(&view, session.width());
    if !how.dry_run && !plan.entries.is_empty() {
        // A page has no line to type it on; its log strikes what was added.
        if session.sending.is_none() {
            text = format!("{text} ({})", undo(&plan.entries, session));
        }
        session.append(&mut book, std::mem::take(&mut plan.entries))?;
        session.keeps(&text);
    }
    if json.is_none() {
        plan.notes.iter().for_each(|note| session.tell(&note.to_string()));
        doubts_text(&doubts, how.dry_run).iter().for_each(|line| session.tell(line));
    }
    session.say(&json.unwrap_or(text))?;
    Ok(ExitStatus::Done)
}

/// How what an import added is undone: the commands, in one line to be typed, or where that would
/// be too long for somebody to read, the one that undoes the last change.
fn undo(entries: &Entries, session: &Session<'_>) -> String {
    const MOST: usize = 6;
    let parts = entries.trials.len() + entries.threads.len() + entries.papers.len();
    if parts + of_older_trials(entries).count() > MOST {
        return format!("to undo: {}", session.command("undo"));
    }
    let kinds = kinds(entries);
    let command = |(kind, ids): &(EntryKind, Vec<String>)| {
        let ids: Vec<String> = ids.iter().map(|id| quoted(id)).collect();
        session.command(&format!("strike {kind} {} --reason \"…\"", ids.join(" ")))
    };
    let commands: Vec<String> = kinds.iter().map(command).collect();
    format!("to undo: {}", commands.join(" && "))
}

/// The ids that an import has to be undone with, by kind and in an order in which they can be
/// struck: a trial takes its readings with it and goes before its thread and paper.
fn kinds(entries: &Entries) -> Vec<(EntryKind, Vec<String>)> {
    let names = |names: &mut dyn Iterator<Item = &Name>| names.map(Name::to_string).collect();
    let kinds = [
        (EntryKind::Trial, names(&mut entries.trials.iter().map(|trial| &trial.name))),
        (EntryKind::Reading, of_older_trials(entries).map(reading_id).collect()),
        (EntryKind::Thread, names(&mut entries.threads.iter().map(|thread| &thread.name))),
        (EntryKind::Paper, names(&mut entries.papers.iter().map(|paper| &paper.name))),
    ];
    kinds.into_iter().filter(|(_, ids): &(_, Vec<String>)| !ids.is_empty()).collect()
}

/// The readings that do not go with a trial of the same import.
fn of_older_trials(entries: &Entries) -> impl Iterator<Item = &Reading> {
    let new: BTreeSet<&Name> = entries.trials.iter().map(|trial| &trial.name).collect();
    let runs = entries.readings.chunk_by(|one, other| one.trial == other.trial);
    runs.filter(move |run| !new.contains(&run[0].trial)).flatten()
}

/// The order said by `--date-order`; `ymd` says no more than that dates are unambiguous.
fn date_order_of(word: &str) -> Option<DateOrder> {
    match word {
        "dmy" => Some(DateOrder::DayFirst),
        "mdy" => Some(DateOrder::MonthFirst),
        _ => None,
    }
}
