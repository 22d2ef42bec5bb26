//! `report`: one page with everything that the book knows.

use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::{Book, audit};
use crate::decide::views::{Measure, factors_view, knockdown_view};
use crate::decide::{
    Bench, BenchError, Compared, GaugeReport, GaugeUse, Origin, UsualSwell, doubts, gauge, learn,
};
use crate::observe::Repeats;
use crate::show::chart::{Chart, DESK, PHONE, agreement, factors, knockdown};
use crate::show::{BookReport, ChartPair, report_html};
use std::path::PathBuf;

/// Write one page with everything that the book knows, for a phone, a desk and paper
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook report --out report.html")]
#[command(after_long_help = "\
The page is one file that needs nothing else: no network and no script. It is made to be printed \
too.")]
pub(crate) struct Args {
    /// The file to write: FILE.html, or - for standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let bench = Bench::of(&book)?;
    let compared = compared(&book, &bench, session)?;
    let gauge = gauged(&book)?;
    let findings = doubts(&book, audit(&book, session.today()))
        .map_err(|error| CliError::Bench(BenchError::Observe(error)))?;
    let charts = charts(&book, &bench, compared.as_ref());
    let html = report_html(&BookReport {
        book: &book,
        made: session.today(),
        learnt: &learn(&book, &bench.observations, &bench.fit, &bench.nominal),
        compared: compared.as_ref(),
        gauge: gauge.as_ref(),
        findings: &findings,
        charts: &charts,
    })?;
    super::output::write(session, &args.out, html.as_bytes(), "wrote the report")?;
    Ok(ExitStatus::Done)
}

/// The comparison, where there are trials enough.
fn compared(
    book: &Book,
    bench: &Bench,
    session: &mut Session<'_>,
) -> Result<Option<Compared>, CliError> {
    match super::fit::watched(book, bench, session) {
        Err(CliError::NotEnough(_)) => Ok(None),
        other => other.map(Some),
    }
}

/// The study of the book's own readings, where something was measured twice.
fn gauged(book: &Book) -> Result<Option<GaugeReport>, CliError> {
    let usage = GaugeUse::usual(book.config().resolution.mm());
    let study = gauge((Origin::Book, &Repeats::of_book(book)), UsualSwell::of(book)?, usage);
    Ok(study.ok())
}

fn charts(book: &Book, bench: &Bench, compared: Option<&Compared>) -> Vec<ChartPair> {
    let unit = book.config().unit;
    let blocks = knockdown_view(bench, Measure::Factor);
    let papers = factors_view(bench);
    let pair = |draw: &dyn Fn(f64) -> Chart| ChartPair { wide: draw(DESK), narrow: draw(PHONE) };
    let mut charts =
        vec![pair(&|width| factors(&papers, width)), pair(&|width| knockdown(&blocks, width))];
    charts.extend(compared.map(|compared| pair(&|width| agreement(compared, unit, width))));
    charts
}
