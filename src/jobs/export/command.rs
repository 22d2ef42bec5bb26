//! `export`: what the book knows, for other programs.

use super::answer::{plain_draws, weighted_draws};
use super::text::draws_csv;
use crate::jobs::fitted::Bench;
use crate::terminal::exit::ExitStatus;
use crate::terminal::number::plural;
use crate::terminal::output::Output;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::Outcome;
use crate::terminal::session::Session;
use crate::terminal::values;
use crate::trade::Range;
use std::path::PathBuf;

/// Plain draws at most: a million would be half a gigabyte in memory.
const COUNT: Range = Range { low: 1.0, high: 100_000.0, unit: "" };
/// Whole numbers that every program reads without loss.
const SEED: Range = Range { low: 0.0, high: 9_007_199_254_740_991.0, unit: "" };

/// Write the fit as draws in a CSV file, for R, Python and other programs
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook export --draws --out draws.csv
  swellbook export --draws --plain 4000 --out plain.csv")]
#[command(after_long_help = "\
--draws writes one row for each draw of the spreads: its weight and its spreads. For every \
coefficient and every effect of a paper, thread or hand, the row has the mean and the standard \
deviation at these spreads (NAME_mean, NAME_sd). The weights sum to one.

With --plain N each row is one draw of everything together: spreads, coefficients and effects, \
with their covariance. All rows have equal weight. The same seed gives the same rows.

Lengths are in mm. docs/reference/files.md lists the columns.")]
pub(crate) struct Args {
    /// Write the draws of the fit
    #[arg(long, required = true)]
    draws: bool,
    /// Write N draws of equal weight instead of the weighted ones
    #[arg(long, value_name = "N")]
    plain: Option<String>,
    /// Whole number that selects the plain draws
    #[arg(long, value_name = "N", default_value = "1", requires = "plain")]
    seed: String,
    /// File to write: FILE.csv, or - for standard output
    #[arg(long, value_name = "FILE", default_value = "-")]
    out: PathBuf,
    /// Replace the file even if swellbook did not make it
    #[arg(long)]
    replace: bool,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let output = Output { path: &args.out, endings: &["csv"], replace: args.replace };
    output.check(session)?;
    let plain = |text: &String| by_flag("--plain", text, |text| values::whole(text, COUNT));
    let plain: Option<u32> = args.plain.as_ref().map(plain).transpose()?;
    let seed: i64 = by_flag("--seed", &args.seed, |text| values::whole(text, SEED))?;
    let bench = Bench::of(&session.open_book()?)?;
    let table = match plain {
        Some(count) => plain_draws(&bench, count as usize, seed.unsigned_abs()),
        None => weighted_draws(&bench),
    };
    let done = format!("wrote {}", plural(table.weights.len(), "draw"));
    output.write(session, draws_csv(&table).as_bytes(), &done)?;
    Ok(ExitStatus::Done)
}
