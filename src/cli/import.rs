//! `import`: a flat trial sheet into the book.

use super::session::quoted;
use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::{
    DateOrder, Entries, SheetOptions, read_bounded, read_file, read_sheet, reading_id,
};
use crate::show;
use crate::trade::Reading;
use std::path::{Path, PathBuf};

/// Import a flat trial sheet, as CSV from a spreadsheet
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook import old-trials.csv --dry-run
  swellbook import old-trials.csv

One row is one place measured. Columns, in any order: trial, date, paper, hardness, grammage_gsm, \
caliper_mm, thread, laid_mm, sections, sheets, on, ends, boned, state, spine_mm, fore_edge_mm; \
and, where there are any, count, material, kind, guards_mm, hand, place, note.")]
#[command(after_long_help = "\
Importing a sheet twice adds nothing the second time. A sheet with a wrong row adds nothing and \
every wrong row is listed. ")]
pub(crate) struct Args {
    /// The sheet; - reads standard input
    sheet: PathBuf,
    /// Show what would be added, and add nothing
    #[arg(long)]
    dry_run: bool,
    /// How dates are written where they are not YYYY-MM-DD
    #[arg(long, value_name = "ORDER", value_parser = ["ymd", "dmy", "mdy"])]
    date_order: Option<String>,
    /// One JSON object instead of sentences
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let (bytes, name) = bytes_of(&args.sheet, session)?;
    let date_order = args.date_order.as_deref().and_then(date_order_of);
    let sheet = read_sheet(&bytes, &name, &SheetOptions { date_order })?;
    let plan = book.plan_import(&sheet)?;
    drop((sheet, bytes));
    let view = show::ImportView { sheet: &name, plan: &plan, dry_run: args.dry_run };
    let json = args.json.then(|| show::import_json(&view));
    let mut text = show::import_text(&view, session.width());
    if !args.dry_run && !plan.entries.is_empty() {
        let take_back = take_back(&plan.entries);
        session.append(&mut book, plan.entries)?;
        if let Some(command) = take_back {
            text = session.change_line(&text, &command);
        }
        session.keeps(&text);
    }
    if json.is_none() {
        plan.notes.iter().for_each(|note| session.tell(&note.to_string()));
    }
    session.say(&json.unwrap_or(text))?;
    Ok(ExitStatus::Done)
}

/// The command that strikes what an import added: its trials, or readings of trials that were
/// there before. `None` when it added neither.
fn take_back(entries: &Entries) -> Option<String> {
    /// More would not fit a line that somebody reads.
    const MOST: usize = 6;
    let of = |reading: &Reading| entries.trials.iter().any(|trial| trial.name == reading.trial);
    let trials = entries.trials.iter().map(|trial| trial.name.to_string());
    let readings = entries.readings.iter().filter(|reading| !of(reading)).map(reading_id);
    // One more tells that there are more.
    let (kind, ids): (_, Vec<String>) = match entries.trials.is_empty() {
        true => ("reading", readings.take(MOST + 1).collect()),
        false => ("trial", trials.take(MOST + 1).collect()),
    };
    let mut words: Vec<String> = ids.iter().take(MOST).map(|id| quoted(id)).collect();
    if ids.len() > MOST {
        words.push("…".to_owned());
    }
    (!words.is_empty()).then(|| format!("strike {kind} {}", words.join(" ")))
}

/// The order said by `--date-order`; `ymd` says no more than that dates are unambiguous.
fn date_order_of(word: &str) -> Option<DateOrder> {
    match word {
        "dmy" => Some(DateOrder::DayFirst),
        "mdy" => Some(DateOrder::MonthFirst),
        _ => None,
    }
}

/// The sheet's bytes, and its name in messages.
pub(super) fn bytes_of(
    sheet: &Path,
    session: &mut Session<'_>,
) -> Result<(Vec<u8>, String), CliError> {
    if sheet == Path::new("-") {
        let name = "standard input".to_owned();
        return Ok((read_bounded(&mut session.streams.input, &name)?, name));
    }
    let name = crate::units::shown_path(sheet);
    Ok((read_file(&session.folder().join(sheet), &name)?, name))
}
