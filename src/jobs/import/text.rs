//! The text of `import`.

use crate::book::{ImportPlan, OwnHeading, Written};
use crate::terminal::json::spelt;
use crate::terminal::number::plural;
use crate::terminal::table::{Align, Table};
use crate::terminal::words::wrapped;
use crate::trade::{Name, Trial};
use crate::units::shown;
use serde_json::{Value, json};
use std::collections::BTreeMap;

#[derive(Clone, Copy, Debug)]
pub struct ImportView<'v> {
    pub sheet: &'v str,
    pub plan: &'v ImportPlan,
    pub dry_run: bool,
    /// Sentences about entries that look wrong.
    pub doubts: &'v [String],
}

/// The start of the help: examples, the columns that a sheet needs, and the optional columns.
pub(crate) fn before_help(columns: [Vec<&str>; 2]) -> String {
    const WIDTH: usize = 60;
    let indented =
        |names: Vec<&str>| format!("  {}", wrapped(&names.join(", "), WIDTH).replace('\n', "\n  "));
    let [needed, others] = columns.map(indented);
    format!(
        "\
Examples:
  swellbook import old-trials.csv --dry-run
  swellbook import old-trials.csv

One row is one place measured. Columns may be in any order:
{needed}
and, if you have them:
{others}

You may leave out what the book already knows. For a thread, either
count or laid_mm is enough.

If a row has the readings of two states, leave out state and give each
state its own columns, such as:
  spine_sewn_mm, fore_edge_sewn_mm, spine_knocked_mm, fore_edge_knocked_mm"
    )
}

/// The most doubts listed; with more, the binder should look at the sheet itself.
const LISTED: usize = 20;

/// The doubtful entries of an import: a heading, then one line each.
pub(crate) fn doubts_text(doubts: &[String], dry_run: bool) -> Vec<String> {
    if doubts.is_empty() {
        return Vec::new();
    }
    let verb = if doubts.len() == 1 { "looks" } else { "look" };
    let kept = if dry_run { "would be" } else { "was" };
    let head = format!(
        "{} {verb} wrong; everything {kept} added as given:",
        plural(doubts.len(), "entry")
    );
    let each = doubts.iter().take(LISTED).map(|doubt| format!("  - {doubt}"));
    let more = doubts.len().checked_sub(LISTED).filter(|more| *more > 0);
    let more =
        more.map(|more| format!("  and {more} more; swellbook audit lists all that is added"));
    std::iter::once(head).chain(each).chain(more).collect()
}

pub fn import_text(view: &ImportView<'_>, width: usize) -> String {
    let head = head(view);
    let is_shown = view.dry_run && !counts(view.plan.entries.written()).is_empty();
    if is_shown { format!("{head}\n\n{}", trials(view, width)) } else { head }
}

/// The binder's own headings that are kept, or would be, such as
/// `kept for the next sheet: 'Rücken' as spine_mm`.
pub(crate) fn headings_text(view: &ImportView<'_>) -> Option<String> {
    let is = |own: &OwnHeading| match own.column.as_str() {
        "" => format!("'{}' as a column to leave out", shown(&own.heading)),
        column => format!("'{}' as {column}", shown(&own.heading)),
    };
    let each: Vec<String> = view.plan.entries.headings.iter().map(is).collect();
    let kept = if view.dry_run { "would be kept" } else { "kept for the next sheet" };
    (!each.is_empty()).then(|| format!("{kept}: {}", each.join(", ")))
}

/// What the import adds, or would add, in one line.
pub(crate) fn head(view: &ImportView<'_>) -> String {
    let there = match view.plan.already_there {
        0 => String::new(),
        count => format!("; {} already in the book", plural(count, "reading")),
    };
    let written = view.plan.entries.written();
    if counts(written).is_empty() {
        let would = if view.dry_run { "would be" } else { "was" };
        return format!("nothing {would} added from {}{there}", view.sheet);
    }
    let verb = if view.dry_run { "would add" } else { "added" };
    format!("{verb} {} from {}{there}", counts(written), view.sheet)
}

/// The number of entries by kind, leaving out kinds without entries.
fn counts(written: Written) -> String {
    let kinds = [
        (written.papers, "paper"),
        (written.threads, "thread"),
        (written.targets, "target"),
        (written.trials, "trial"),
        (written.readings, "reading"),
    ];
    let some = kinds.iter().filter(|(count, _)| *count > 0);
    some.map(|(count, noun)| plural(*count, noun)).collect::<Vec<_>>().join(", ")
}

/// The columns of [`trial_rows`].
pub(crate) const TRIAL_COLUMNS: [&str; 6] =
    ["trial", "paper", "thread", "sections", "sheets", "readings"];

fn trials(view: &ImportView<'_>, width: usize) -> String {
    let align = |at: usize| if at < 3 { Align::Left } else { Align::Right };
    let columns = TRIAL_COLUMNS.iter().enumerate().map(|(at, name)| (*name, align(at)));
    let mut table = Table::new(&columns.collect::<Vec<_>>());
    trial_rows(view).into_iter().for_each(|row| table.row(row));
    if table.is_empty() { String::new() } else { table.render(width) }
}

pub(crate) fn trial_rows(view: &ImportView<'_>) -> Vec<[String; 6]> {
    let entries = &view.plan.entries;
    let mut readings: BTreeMap<&Name, usize> = BTreeMap::new();
    for reading in &entries.readings {
        *readings.entry(&reading.trial).or_default() += 1;
    }
    let row = |trial: &Trial| {
        [
            trial.name.to_string(),
            trial.paper.to_string(),
            trial.thread.to_string(),
            trial.sewing.sections().to_string(),
            trial.sewing.sheets().to_string(),
            readings.get(&trial.name).copied().unwrap_or_default().to_string(),
        ]
    };
    entries.trials.iter().map(row).collect()
}

pub fn import_json(view: &ImportView<'_>) -> String {
    let written = view.plan.entries.written();
    let headings = view.plan.entries.headings.iter();
    let headings: Vec<Value> =
        headings.map(|own| json!({ "heading": own.heading, "column": own.column })).collect();
    let notes = view.plan.notes.iter().map(ToString::to_string);
    let notes: Vec<String> = notes.chain(view.doubts.iter().cloned()).collect();
    let document = json!({
        "sheet": view.sheet,
        "dry_run": view.dry_run,
        "added": {
            "papers": written.papers,
            "threads": written.threads,
            "trials": written.trials,
            "readings": written.readings,
        },
        "headings": headings,
        "already_there": view.plan.already_there,
        "notes": notes,
    });
    spelt(document.to_string())
}
