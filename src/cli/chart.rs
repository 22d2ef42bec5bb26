//! `chart`: a picture of what the book knows.

use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::Book;
use crate::decide::Bench;
use crate::decide::views::{Measure, factors_view, knockdown_view};
use crate::show::chart::{Chart, DESK, agreement, factors, knockdown};
use clap::ValueEnum;
use std::path::{Path, PathBuf};

/// Draw a chart of what the book knows, as SVG or PNG
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook chart knockdown --out knockdown.svg
  swellbook chart factors --out factors.png")]
pub(crate) struct Args {
    /// What to draw
    #[arg(value_enum)]
    kind: Kind,
    /// The file to write: FILE.svg, FILE.png, or - for SVG on standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// For knockdown: swell in per cent in place of the thread factor
    #[arg(long)]
    percent: bool,
}

/// A chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Kind {
    /// Every block before and after knocking down
    Knockdown,
    /// Every paper's thread factor beside nominal figures
    Factors,
    /// Each trial as measured against the prediction from the others
    Agreement,
}

/// The form of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Svg,
    Png,
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let form = form_of(&args.out)?;
    let book = session.open_book()?;
    let bench = Bench::of(&book)?;
    let chart = drawn(&args, &book, &bench, session)?;
    let bytes = match form {
        Form::Svg => chart.svg()?.into_bytes(),
        Form::Png => chart.png()?,
    };
    super::output::write(session, &args.out, &bytes, &format!("drew {}", chart.title()))?;
    session.tell(chart.caption())?;
    Ok(ExitStatus::Done)
}

fn drawn(
    args: &Args,
    book: &Book,
    bench: &Bench,
    session: &mut Session<'_>,
) -> Result<Chart, CliError> {
    let measure = if args.percent { Measure::Percent } else { Measure::Factor };
    let unit = book.config().unit;
    Ok(match args.kind {
        Kind::Knockdown => knockdown(&knockdown_view(bench, measure), DESK),
        Kind::Factors => factors(&factors_view(bench), DESK),
        Kind::Agreement => agreement(&super::fit::watched(book, bench, session)?, unit, DESK),
    })
}

/// The form that the name of a file asks for.
fn form_of(path: &Path) -> Result<Form, CliError> {
    if path.as_os_str() == "-" {
        return Ok(Form::Svg);
    }
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("svg") => Ok(Form::Svg),
        Some("png") => Ok(Form::Png),
        _ => Err(CliError::Value {
            flag: "--out",
            message: format!(
                "'{}' ends neither in .svg nor in .png",
                crate::units::shown(&path.to_string_lossy())
            ),
        }),
    }
}
