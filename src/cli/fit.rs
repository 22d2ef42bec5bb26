//! `fit`: what the trials have taught.

use super::progress::Progress;
use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::Book;
use crate::decide::{Bench, Check, CompareError, Compared, Leaving, check, compare, learn};
use crate::show;

/// Show the thread factor of each paper, as sewn and knocked down, with ranges, against nominal
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook fit
  swellbook fit --json
  swellbook fit --compare
  swellbook fit --compare --by paper
  swellbook fit --check")]
#[command(after_long_help = "\
The factor is the share of the thread's laid diameter that shows at the spine. JSON gives every \
coefficient, spread, paper and thread by the names in docs/model.md, lengths in mm.

--compare leaves each trial out in turn, predicts it from the others in five ways (the book's own \
fit, nominal figures, one straight line for all papers, one line per paper, one share per paper), \
and says how far each misses and which simpler way is as good. It names trials that the others \
make hard to believe. It takes at least three trials; beyond 200 they are left out in twenty parts. \
--by paper leaves out all trials of a paper at once: how well a paper is predicted that was never \
tried.

--check leaves each trial out in turn too: whether what is missed goes with sections, sheets, thread, \
sewing, hardness, state, date or hand; whether the trials lie where they should; and which trials \
weigh most. A plain `fit` says so in one line when something bends.")]
pub(crate) struct Args {
    /// One JSON object instead of sentences
    #[arg(long)]
    json: bool,
    /// Predict each trial from the others and compare with simpler ways
    #[arg(long)]
    compare: bool,
    /// What --compare leaves out in turn: one trial, or all trials of one paper [default: trial]
    #[arg(long, value_parser = ["trial", "paper"], requires = "compare")]
    by: Option<String>,
    /// See whether something bends, and which trials weigh most
    #[arg(long, conflicts_with = "compare")]
    check: bool,
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
    let leaving = match args.by.as_deref() {
        Some("paper") => Leaving::Paper,
        _ => Leaving::Trial,
    };
    let compared = args.compare.then(|| watched(&book, &bench, leaving, session)).transpose()?;
    let checked = args.check.then(|| scrutinised(&book, &bench, session)).transpose()?;
    let (unit, screen) = (book.config().unit, session.screen());
    let learnt = || learn(&book, &bench);
    let text = match (args.json, &compared, &checked) {
        (true, compared, checked) => {
            show::learnt_json(&learnt()?, compared.as_ref(), checked.as_ref())
        }
        (false, Some(compared), _) => show::compared_text(compared, unit, screen.width),
        (false, None, Some(checked)) => show::check_text(checked, screen.width),
        (false, None, None) => show::learnt_text(&learnt()?, unit, screen),
    };
    session.say(&text)?;
    Ok(ExitStatus::Done)
}

/// The check, counting the fits where a person waits.
fn scrutinised(book: &Book, bench: &Bench, session: &mut Session<'_>) -> Result<Check, CliError> {
    let mut progress = Progress::new("fitting without one trial after another:");
    let checked = check(book, bench, &mut |done, of| progress.at(session, done, of));
    progress.end(session);
    Ok(checked?)
}

/// The comparison, counting the fits where a person waits.
pub(super) fn watched(
    book: &Book,
    bench: &Bench,
    leaving: Leaving,
    session: &mut Session<'_>,
) -> Result<Compared, CliError> {
    let mut progress = Progress::new(match leaving {
        Leaving::Trial => "fitting without one trial after another:",
        Leaving::Paper => "fitting without one paper after another:",
    });
    let compared = compare(book, bench, leaving, &mut |done, of| progress.at(session, done, of));
    progress.end(session);
    Ok(compared?)
}

impl From<CompareError> for CliError {
    fn from(error: CompareError) -> Self {
        match error {
            CompareError::FewTrials { .. } | CompareError::FewPapers => {
                Self::NotEnough(error.to_string())
            }
            CompareError::Bench(error) => error.into(),
        }
    }
}
