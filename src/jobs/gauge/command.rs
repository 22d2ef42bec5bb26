//! `gauge`: shows how repeatable readings are.

use super::text::gauge_text;
use crate::book::{Book, BookError, Config, read_gauge_sheet};
use crate::jobs::fitted::Bench;
use crate::jobs::study::answer::{GaugeUse, Origin, UsualSwell, gauge};
use crate::model::variance::StudyError;
use crate::observe::Repeats;
use crate::terminal::input::bytes_of;
use crate::terminal::json::document;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values::{self, ValueError};
use crate::trade::{Range, ranges};
use crate::units::LengthUnit;
use std::path::{Path, PathBuf};

/// Readings at each edge that `--readings` accepts.
const READINGS: Range = Range { low: 1.0, high: 1000.0, unit: "" };
const SCALE_ERROR: Range = Range { low: 0.0, high: 10.0, unit: "%" };
const SWELL: Range = Range { low: -50.0, high: 200.0, unit: "mm" };

/// Show how well readings repeat, who repeats best, and how many readings are worth taking
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook gauge
  swellbook gauge repeats.csv --readings 3

Without a sheet it uses the readings of the book. The places along one edge of one trial in one \
state count as repeats, so the figure includes the unevenness of the block.

A sheet has one row for each reading. Its columns, in any order, are operator (optional), part and \
reading_mm. If every operator measures every part equally often, at least twice, the operators are \
compared too.")]
#[command(after_long_help = "\
Ranges are 90 % ranges. The uncertainty budget follows the Guide to the expression of uncertainty \
in measurement (JCGM 100:2008). JSON gives lengths in mm. Step by step: \
docs/how-to/check-your-gauge.md.")]
pub(crate) struct Args {
    /// Sheet of repeated readings, as CSV; - reads standard input
    sheet: Option<PathBuf>,
    /// Readings at each edge that the swell figure rests on
    #[arg(long, value_name = "N", default_value = "3")]
    readings: String,
    /// Smallest step of the gauge [default: the book's, else 0.01 mm]
    #[arg(long, value_name = "LENGTH")]
    resolution: Option<String>,
    /// How far the scale of the gauge may be off, in either direction
    #[arg(long, value_name = "PERCENT", default_value = "0.2")]
    scale_error: String,
    /// Swell to work out the budget for [default: the middle swell of the book, else 3 mm]
    #[arg(long, value_name = "LENGTH")]
    swell: Option<String>,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = book_beside(args.sheet.as_deref(), session)?;
    let config = book.as_ref().map_or_else(Config::default, |book| book.config().clone());
    let usage = args.usage(&config)?;
    let bench = book.as_ref().map(Bench::of).transpose()?;
    let (origin, repeats) = match (&args.sheet, book.as_ref().zip(bench.as_ref())) {
        (Some(sheet), _) => (Origin::Sheet, from_sheet(sheet, config.unit, session, args.json)?),
        (None, Some((book, bench))) => (Origin::Book, Repeats::of_book(book, &bench.observations)),
        (None, None) => (Origin::Book, Repeats::default()),
    };
    let usual = bench.as_ref().and_then(UsualSwell::of);
    let report =
        gauge(origin, &repeats, usual, usage).map_err(|error| not_enough(error, origin))?;
    let text = if args.json {
        document(&report)
    } else {
        gauge_text(&report, config.unit, session.width())
    };
    session.say(&text)
}

/// The open book; `None` if a sheet was given and no book was found.
fn book_beside(sheet: Option<&Path>, session: &mut Session<'_>) -> Result<Option<Book>, CliError> {
    match session.open_book() {
        Err(CliError::Book(BookError::NotFound { .. })) if sheet.is_some() => Ok(None),
        other => other.map(Some),
    }
}

fn from_sheet(
    sheet: &Path,
    unit: LengthUnit,
    session: &mut Session<'_>,
    json: bool,
) -> Result<Repeats, CliError> {
    let (bytes, name) = bytes_of(sheet, session)?;
    let read = read_gauge_sheet(&bytes, &name, unit)?;
    if !json {
        for notice in &read.notices {
            session.tell(&notice.to_string());
        }
    }
    Ok(Repeats::of_sheet(&read))
}

pub(crate) fn not_enough(error: StudyError, origin: Origin) -> CliError {
    let remedy = match origin {
        Origin::Book => {
            "record more than one place of an edge with `swellbook record readings`, or give a \
             sheet of repeated readings"
        }
        Origin::Sheet => "measure each part at least twice, in turn, without looking back",
    };
    CliError::NotEnough(format!("{error}; {remedy}"))
}

impl Args {
    fn usage(&self, config: &Config) -> Result<GaugeUse, CliError> {
        let unit = config.unit;
        let length = |flag, text: &Option<String>, range| {
            let read = |text| by_flag(flag, text, |text| values::length(text, unit, range));
            text.as_deref().map(read).transpose()
        };
        let resolution = length("--resolution", &self.resolution, ranges::RESOLUTION)?;
        let swell = length("--swell", &self.swell, SWELL)?;
        let percent = |text: &str| {
            let number = values::number(text, &["%"])?;
            SCALE_ERROR.check(number).map_err(ValueError::said)
        };
        Ok(GaugeUse {
            readings: by_flag("--readings", &self.readings, |text| values::whole(text, READINGS))?,
            resolution_mm: resolution.unwrap_or(config.resolution).mm(),
            scale_error: by_flag("--scale-error", &self.scale_error, percent)? / 100.0,
            swell_mm: swell.map(|swell| swell.mm()),
        })
    }
}
