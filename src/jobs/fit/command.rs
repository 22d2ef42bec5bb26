//! `fit`: what the trials have taught.

use super::answer::learn;
use super::answer_check::{Check, check};
use super::text::{learnt_json, learnt_text};
use super::text_check::check_text;
use crate::book::Book;
use crate::jobs::compare::answer_refit::Leaving;
use crate::jobs::compare::command::watched;
use crate::jobs::compare::text::compared_text;
use crate::jobs::fitted::Bench;
use crate::terminal::exit::ExitStatus;
use crate::terminal::progress::Progress;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;

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

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
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
        (true, compared, checked) => learnt_json(&learnt()?, compared.as_ref(), checked.as_ref()),
        (false, Some(compared), _) => compared_text(compared, unit, screen.width),
        (false, None, Some(checked)) => check_text(checked, screen.width),
        (false, None, None) => learnt_text(&learnt()?, unit, screen),
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
