//! `fit`: what the trials have taught.

use super::{CliError, ExitStatus, Outcome, Session};
use crate::decide::{Bench, learn};
use crate::show;

/// Show the thread factor of each paper, as sewn and knocked down, with ranges, against nominal
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook fit
  swellbook fit --json")]
#[command(after_long_help = "\
The factor is the share of the thread's laid diameter that shows at the spine. JSON gives every \
coefficient, spread, paper and thread by the names in docs/model.md, lengths in mm.")]
pub(crate) struct Args {
    /// One JSON object instead of sentences
    #[arg(long)]
    json: bool,
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
    let learnt = learn(&bench.observations, &bench.fit, &bench.nominal);
    let text = if args.json {
        show::learnt_json(&learnt)
    } else {
        show::learnt_text(&learnt, book.config().unit, session.width())
    };
    session.say(&text)?;
    Ok(ExitStatus::Done)
}
