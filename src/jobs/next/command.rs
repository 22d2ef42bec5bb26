//! `next`: finds the trial block most worth sewing.

use super::answer::{NextOptions, next_trial};
use super::answer_calibrate::calibrate;
use super::answer_candidates::Stock;
use super::answer_minutes::Minutes;
use super::answer_odds::OddsAsked;
use super::text::next_text;
use super::text_calibration::calibration_text;
use crate::jobs::doubt::command::{Planned, say_answer, tell_of_plan};
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::plan_spec::command::PlanArgs;
use crate::jobs::plan_spec::command_lengths::FoldedArgs;
use crate::jobs::plan_spec::command_resolve::Resolved;
use crate::terminal::json::document;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values::{self, ValueError};
use crate::trade::Pairs;
use clap::Arg;

/// Find the trial block to sew next: the one that narrows the prediction of a plan most
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook next --paper 'bond 80' --thread 'linen 25' \\
    --sections 24 --sheets 4
  swellbook next --new-paper 'new wove' --caliper 0.11mm \\
    --hardness medium --thread 'linen 25'
  swellbook next --paper 'bond 80' --thread 'linen 25' \\
    --sections 24 --sheets 4 --minutes 'setup=10,section=2'

The first asks for a planned book, the second for the blocks that calibrate an untried paper.")]
#[command(after_long_help = "\
Describe the plan as for predict. With --new-paper the plan is a typical book: 24 sections of 4 \
sheets, with the thread of most trials. The options of a plan, such as --thread, --sections, --sheets, \
--on and --guards, change this.

With --target it also shows how a block changes the best odds of all ways to sew the leaves. If \
the book has more than twice the sections of your longest trial block, at least one of the blocks \
is a long one.

By default a block takes 20 minutes to set up, 3 for each section (folding and sewing), and 5 for \
each state (preparing and measuring). This is common practice; --minutes gives your own times.")]
#[command(mut_args(optional))]
pub(crate) struct Args {
    /// An untried paper to calibrate, instead of a plan
    #[arg(long, value_name = "NAME", conflicts_with_all = ["paper", "runs", "plan_file"])]
    new_paper: Option<String>,
    #[command(flatten)]
    plan: PlanArgs,
    #[command(flatten)]
    folded: FoldedArgs,
    /// Your minutes at the bench: 'setup=20,section=3,state=5', or some of these
    #[arg(long, value_name = "MINUTES")]
    minutes: Option<String>,
    /// Also consider every other paper and thread of the book
    #[arg(long)]
    any_stock: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// With `--new-paper`, none of the plan's options is required.
fn optional(arg: Arg) -> Arg {
    match arg.get_id().as_str() {
        "paper" | "thread" | "sheets" => arg.required_unless_present("new_paper"),
        _ => arg,
    }
}

/// The typed minutes, with common practice for those left out.
fn minutes(typed: Option<&str>) -> Result<Minutes, CliError> {
    let Some(typed) = typed else { return Ok(Minutes::default()) };
    let parse = |text: &str| -> Result<Minutes, ValueError> {
        let pairs = Pairs::parse(text, &Minutes::NAMES).map_err(ValueError::said)?;
        let mut each = Minutes::default().each();
        for (name, minutes) in Minutes::NAMES.into_iter().zip(&mut each) {
            if let Some(value) = pairs.get(name) {
                *minutes = values::number(value, &["min"])?;
            }
        }
        Minutes::new(each).map_err(ValueError::said)
    };
    by_flag("--minutes", typed, parse)
}

impl Args {
    /// Refuses options that have no effect with `--new-paper`.
    fn refuse_unused(&self) -> Result<(), CliError> {
        let wanted = |key| self.plan.words.get(key).is_some();
        let given = [
            ("--target", wanted("target")),
            ("--round", wanted("round")),
            ("--shoulder", wanted("shoulder")),
            ("--any-stock", self.any_stock),
        ];
        match given.iter().find(|(_, given)| self.new_paper.is_some() && *given) {
            None => Ok(()),
            Some((flag, _)) => Err(CliError::Usage(format!(
                "{flag} has no effect on the blocks that calibrate a paper; leave it out, or \
                 describe a planned book of the paper with --paper in place of --new-paper"
            ))),
        }
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    args.refuse_unused()?;
    let book = session.open_book()?;
    let minutes = minutes(args.minutes.as_deref())?;
    let bench = Bench::of(&book)?;
    let (config, width) = (book.config(), session.width());
    let spec = match &args.new_paper {
        None => args.plan.read(session, &book)?,
        Some(paper) => args.plan.typical(paper, bench.usual_thread())?,
    };
    let spec = spec.with_fore_edge(args.folded.typed());
    let known = Fitted { book: &book, bench: &bench };
    let measured = args.folded.measured(known)?;
    // A paper that was given with --new-paper is at fault there.
    let paper = if args.new_paper.is_some() { "--new-paper" } else { "--paper" };
    let mut resolved = spec.resolved(known).map_err(|error| error.at("--paper", paper))?;
    spec.tell_counts(session, &book)?;
    resolved.measure(measured);
    let leaves = resolved.leaves();
    let Resolved { plan, wanted, guards, doubtful, .. } = resolved;
    let fore_edge_mm = bench.fit.fore_edge(&plan).mean;
    let (band, new_hand) = (wanted.band_on(fore_edge_mm), bench.is_new_hand(plan.hand));
    let (target, doubtful) = (band.as_ref(), doubtful.as_ref());
    let planned = Planned { plan: &plan, fore_edge_mm, target, doubtful, new_hand };
    tell_of_plan(session, planned, config.unit);
    let text = if args.new_paper.is_some() {
        let found = calibrate(&bench, config, plan, minutes)?;
        if args.json { document(&found) } else { calibration_text(&found, config, width) }
    } else {
        let stock = if args.any_stock { Stock::Any } else { Stock::OfPlan };
        let asked = band.map(|target| OddsAsked { target, leaves, guards });
        let next = next_trial(&bench, config, plan, asked, NextOptions { minutes, stock })?;
        if args.json { document(&next) } else { next_text(&next, config, width) }
    };
    say_answer(session, text, args.json, known)
}
