//! `fit`: what the trials have taught.

use super::progress::Progress;
use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::Book;
use crate::decide::{Bench, Compared, compare, learn};
use crate::show;

/// Show the thread factor of each paper, as sewn and knocked down, with ranges, against nominal
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook fit
  swellbook fit --json
  swellbook fit --compare")]
#[command(after_long_help = "\
The factor is the share of the thread's laid diameter that shows at the spine. JSON gives every \
coefficient, spread, paper and thread by the names in docs/model.md, lengths in mm.

--compare leaves each trial out in turn, predicts it from the others in four ways (the book's own \
fit, nominal figures, one straight line for all papers, one line per paper), and says how far each \
misses. It names trials that the others make hard to believe. It takes at least three trials; \
beyond 200 they are left out in twenty parts.")]
pub(crate) struct Args {
    /// One JSON object instead of sentences
    #[arg(long)]
    json: bool,
    /// Predict each trial from the others and compare with simpler ways
    #[arg(long)]
    compare: bool,
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let bench = Bench::of(&book)?;
    if bench.observations.rows.is_empty() {
        return Err(CliError::NotEnough(
            "nothing to learn from yet: no trial has both spine and fore-edge measured in one \
             state; record one with `swellbook record trial` and `swellbook record readings`, or \
             bring a sheet in with `swellbook import SHEET`"
                .to_owned(),
        ));
    }
    let compared = args.compare.then(|| watched(&book, &bench, session)).transpose()?;
    let (unit, screen) = (book.config().unit, session.screen());
    let learnt = || learn(&book, &bench.observations, &bench.fit, &bench.nominal);
    let text = match (args.json, &compared) {
        (true, compared) => show::learnt_json(&learnt(), compared.as_ref()),
        (false, Some(compared)) => show::compared_text(compared, unit, screen.width),
        (false, None) => show::learnt_text(&learnt(), unit, screen),
    };
    session.say(&text)?;
    Ok(ExitStatus::Done)
}

/// The comparison, counting the fits where a person waits.
pub(super) fn watched(
    book: &Book,
    bench: &Bench,
    session: &mut Session<'_>,
) -> Result<Compared, CliError> {
    let mut progress = Progress::new("fitting without one trial after another:");
    let compared = compare(book, bench, &mut |done, of| progress.at(session, done, of));
    progress.end(session);
    Ok(compared?)
}
