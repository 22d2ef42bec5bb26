//! `export`: writes what the book knows for other programs.

use super::answer::{plain_draws, weighted_draws};
use super::answer_rows::{observation_rows, reading_rows};
use super::answer_sheet::sheet_of;
use super::command_summary::run_summary;
use super::text::draw_columns;
use super::text_format::Format;
use super::text_rows::{observation_columns, reading_columns};
use super::text_sheet::notes_on;
use crate::book::Book;
use crate::jobs::fitted::{Bench, BenchError};
use crate::observe::observe;
use crate::terminal::number::plural;
use crate::terminal::output::Output;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values;
use crate::trade::Range;
use std::io::Error;
use std::path::PathBuf;

/// Number of plain draws: a million would take half a gigabyte of memory.
const COUNT: Range = Range { low: 1.0, high: 100_000.0, unit: "" };
/// Whole numbers that every program reads without loss.
const SEED: Range = Range { low: 0.0, high: 9_007_199_254_740_991.0, unit: "" };

/// Write the book as a flat sheet, tables for R, Python and others, or a summary to share
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("table").required(true))]
#[command(before_long_help = "\
Examples:
  swellbook export --sheet --out sheet.csv
  swellbook export --readings --out raw.csv
  swellbook export --observations --format json
  swellbook export --draws --out draws.csv
  swellbook export --draws --plain 4000 --out plain.csv
  swellbook export --summary bench.json --show")]
#[command(after_long_help = "\
--sheet writes the flat sheet for a spreadsheet: one row for each place measured, with the columns \
that `import` reads. Imported into the same book it adds nothing; imported into a new book it makes \
the same trials and readings. What it has no place for is listed. It is always CSV.

--readings writes one row for each place measured: what was read, its weight, and the paper, thread \
and sewing of its trial. Entries that were struck are left out.

--observations writes one row for each trial and state with both edges measured: the swell that the \
fit is given, with its variance.

--draws writes one row for each draw of the spreads: its weight and its spreads. For every \
coefficient and every effect of a paper, thread or hand, the row has the mean and the standard \
deviation at these spreads (NAME_mean, NAME_sd). The weights sum to one.

With --plain N each row is one draw of everything together: spreads, coefficients and effects, \
with their covariance. All rows have equal weight. The same seed gives the same rows.

--summary writes what the readings say about the coefficients and spreads of the model, with the \
beliefs of the book taken out, and how many papers, threads, trials and observations there were. It \
has no names, notes, dates, hands or single readings. Many such summaries together tell a new bench \
what to expect. With --show you see it, in words and as the file itself, before anything is written; \
at a terminal you are then asked.

The format is the one given with --format. Without it, the ending of FILE decides, or else it is \
CSV. A missing value is an empty cell in CSV, and null in JSON and Arrow.

Lengths are in mm. docs/reference/files.md lists the columns.")]
pub(crate) struct Args {
    /// Write the flat sheet that `import` reads
    #[arg(long, group = "table", conflicts_with = "format")]
    sheet: bool,
    /// Write every reading with its trial
    #[arg(long, group = "table")]
    readings: bool,
    /// Write the observations that the fit is given
    #[arg(long, group = "table")]
    observations: bool,
    /// Write the draws of the fit
    #[arg(long, group = "table")]
    draws: bool,
    /// Write what the readings say, without names: FILE.json, or - for standard output
    #[arg(long, group = "table", value_name = "FILE", conflicts_with_all = ["format", "out"])]
    summary: Option<PathBuf>,
    /// Print the summary before anything is written
    #[arg(
        long,
        requires = "summary",
        conflicts_with_all = ["sheet", "readings", "observations", "draws"]
    )]
    show: bool,
    /// Write N draws of equal weight instead of the weighted ones
    #[arg(long, value_name = "N", conflicts_with_all = ["sheet", "readings", "observations", "summary"])]
    plain: Option<String>,
    /// Whole number that selects the plain draws
    #[arg(
        long,
        value_name = "N",
        default_value = "1",
        requires = "plain",
        conflicts_with_all = ["sheet", "readings", "observations", "summary"]
    )]
    seed: String,
    /// Format of the table [default: the ending of FILE, or else csv]
    #[arg(long, value_parser = ["csv", "json", "arrow"])]
    format: Option<String>,
    /// File to write: FILE.csv, FILE.json or FILE.arrow, or - for standard output
    #[arg(long, value_name = "FILE", default_value = "-")]
    out: PathBuf,
    /// Replace the file even if swellbook did not make it
    #[arg(long)]
    replace: bool,
}

impl Args {
    /// The format that was asked for, or else the one of the file's ending.
    fn format(&self) -> Option<Format> {
        let ending = || Some(self.out.extension()?.to_string_lossy().to_lowercase());
        self.format.clone().or_else(ending).as_deref().and_then(Format::of)
    }

    /// The number of plain draws, if any are wanted, and their seed.
    fn plain(&self) -> Result<(Option<u32>, u64), CliError> {
        let count = |text: &String| by_flag("--plain", text, |text| values::whole(text, COUNT));
        let count = self.plain.as_ref().map(count).transpose()?;
        let seed: i64 = by_flag("--seed", &self.seed, |text| values::whole(text, SEED))?;
        Ok((count, seed.unsigned_abs()))
    }

    /// The requested table as a file, and the number of its rows in words.
    fn table(
        &self,
        book: &Book,
        format: Format,
        plain: Option<u32>,
        seed: u64,
    ) -> Result<(Vec<u8>, String), CliError> {
        let (columns, rows) = if self.draws {
            let bench = Bench::of(book)?;
            let table = match plain {
                Some(count) => plain_draws(&bench, count as usize, seed),
                None => weighted_draws(&bench),
            };
            (draw_columns(&table), plural(table.weights.len(), "draw"))
        } else {
            let all = observe(book).map_err(BenchError::from)?;
            if self.readings {
                let rows = reading_rows(book.entries(), &all);
                (reading_columns(&rows, all.resolution_mm), plural(rows.len(), "reading"))
            } else {
                let rows = observation_rows(book.entries(), &all);
                (observation_columns(&rows), plural(rows.len(), "observation"))
            }
        };
        let table = format.write(columns).map_err(|why| CliError::Output(Error::other(why)))?;
        Ok((table, rows))
    }
}

/// Writes the flat sheet, and lists what it cannot hold.
fn run_sheet(args: &Args, session: &mut Session<'_>) -> Outcome {
    let output = Output { path: &args.out, endings: Format::Csv.endings(), replace: args.replace };
    output.check(session)?;
    let sheet = sheet_of(&session.open_book()?);
    output.write(session, &sheet.bytes, &format!("wrote {}", plural(sheet.readings, "reading")))?;
    notes_on(&sheet).iter().for_each(|note| session.tell(&format!("note: {note}")));
    Ok(())
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    if args.sheet {
        return run_sheet(&args, session);
    }
    if let Some(path) = &args.summary {
        return run_summary(path, args.show, args.replace, session);
    }
    let format = args.format();
    let endings = format.map_or(Format::ENDINGS, Format::endings);
    let output = Output { path: &args.out, endings, replace: args.replace };
    output.check(session)?;
    let format = format.unwrap_or(Format::Csv);
    if format == Format::Arrow && args.out.as_os_str() == "-" {
        let message = "an arrow table is not text; name a file that ends in .arrow".to_owned();
        return Err(CliError::Value { flag: "--out", message });
    }
    let (plain, seed) = args.plain()?;
    let (table, rows) = args.table(&session.open_book()?, format, plain, seed)?;
    output.write(session, &table, &format!("wrote {rows}"))
}
