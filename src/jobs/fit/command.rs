//! `fit`: shows what the trials have taught.

use super::answer::{LearntWith, learn};
use super::answer_check::{Check, check};
use super::answer_with::learn_together;
use super::command_with::open_others;
use super::text::learnt_text;
use super::text_check::check_text;
use super::text_with::together_text;
use crate::book::Book;
use crate::jobs::compare::answer_refit::Leaving;
use crate::jobs::compare::command::watched;
use crate::jobs::compare::text::compared_text;
use crate::jobs::doubt::command::say_answer;
use crate::jobs::fitted::{Bench, Fitted};
use crate::terminal::json::document;
use crate::terminal::progress::Progress;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use std::path::PathBuf;

/// Show the thread factor of each paper, as sewn and knocked down, beside nominal figures
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook fit
  swellbook fit --json
  swellbook fit --compare
  swellbook fit --compare --by paper
  swellbook fit --check
  swellbook fit --with inch-book")]
#[command(after_long_help = "\
The thread factor is the share of the thread's laid diameter that shows at the spine. JSON uses \
the names in docs/model.md; lengths are in mm.

--compare leaves out each trial in turn and predicts it from the others in five ways: your own fit, \
nominal figures, one straight line, a line per paper and a share per paper. It shows how far each \
way misses, which simpler way is as good, and which trials are out of line. It needs at least \
three trials. More than 200 are left out in twenty parts.

--by paper leaves out all trials of one paper at once. This shows how well an untried paper is \
predicted.

--check also leaves out each trial in turn. It looks for errors that change with sections, sheets, \
thread, sewing, hardness, state, date or hand. It shows whether the errors are as large as they \
should be, and which trials weigh most. A plain `fit` adds one line when it finds such a change.

--with fits this book together with others, each bench with an effect of its own. It shows how much \
benches differ, what each adds to the factor, and what the other books add to this one. The other \
books are only read. The starting beliefs are those of this book.")]
pub(crate) struct Args {
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
    /// Predict each trial from the others, and compare the fit with simpler ways
    #[arg(long)]
    compare: bool,
    /// What --compare leaves out in turn: one trial, or all trials of one paper [default: trial]
    #[arg(
        long,
        value_parser = ["trial", "paper"],
        requires = "compare",
        conflicts_with_all = ["check", "with"]
    )]
    by: Option<String>,
    /// Look for errors that follow a pattern, and for the trials that weigh most
    #[arg(long, conflicts_with = "compare")]
    check: bool,
    /// Folders of other books to fit together with this one
    #[arg(long, value_name = "DIR", num_args = 1.., conflicts_with_all = ["compare", "check"])]
    with: Vec<PathBuf>,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let bench = Bench::of(&book)?;
    if !args.with.is_empty() {
        return together(args, &book, &bench, session);
    }
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
        (true, compared, checked) => document(&LearntWith {
            learnt: &learnt()?,
            compare: compared.as_ref(),
            check: checked.as_ref(),
        }),
        (false, Some(compared), _) => compared_text(compared, unit, screen.width),
        (false, None, Some(checked)) => check_text(checked, screen.width),
        (false, None, None) => learnt_text(&learnt()?, unit, screen),
    };
    say_answer(session, text, args.json, Fitted { book: &book, bench: &bench })
}

fn together(args: Args, book: &Book, bench: &Bench, session: &mut Session<'_>) -> Outcome {
    let others = open_others(book, args.with, session)?;
    let together = learn_together(book, bench, &others)?;
    let text = match args.json {
        true => document(&together),
        false => together_text(&together, book.config().unit, session.screen()),
    };
    say_answer(session, text, args.json, Fitted { book, bench })
}

/// Runs the check, and counts the fits at a terminal where a person waits.
fn scrutinised(book: &Book, bench: &Bench, session: &mut Session<'_>) -> Result<Check, CliError> {
    let mut progress = Progress::new("fitting without one trial after another:");
    let checked = check(book, bench, &mut |done, of| progress.at(session, done, of));
    progress.end(session);
    Ok(checked?)
}
