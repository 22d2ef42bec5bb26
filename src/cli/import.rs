//! `import`: a flat trial sheet into the book.

use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::sheet::{SheetOptions, read_sheet};
use crate::book::{DateOrder, read_bounded, read_file};
use crate::show;
use std::path::{Path, PathBuf};

/// Import a flat trial sheet, as CSV from a spreadsheet
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook import old-trials.csv --dry-run
  swellbook import old-trials.csv

One row is one place measured. Columns, in any order: trial, date, paper, hardness, grammage_gsm, \
caliper_mm, thread, laid_mm, sections, sheets, on, ends, boned, state, spine_mm, fore_edge_mm; \
and, where there are any, count, kind, guards_mm, hand, place, note.")]
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
    if !args.dry_run {
        book.append(plan.entries.clone())?;
    }
    let view = show::ImportView { sheet: &name, plan: &plan, dry_run: args.dry_run };
    if args.json {
        session.say(&show::import_json(&view))?;
    } else {
        for note in &plan.notes {
            session.tell(&note.to_string())?;
        }
        session.say(&show::import_text(&view, session.width()))?;
    }
    Ok(ExitStatus::Done)
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
fn bytes_of(sheet: &Path, session: &mut Session<'_>) -> Result<(Vec<u8>, String), CliError> {
    if sheet == Path::new("-") {
        let name = "standard input".to_owned();
        return Ok((read_bounded(&mut session.streams.input, &name)?, name));
    }
    let name = sheet.display().to_string();
    Ok((read_file(&session.folder().join(sheet), &name)?, name))
}
