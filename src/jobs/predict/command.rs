//! `predict`: predicts a planned book.

use crate::jobs::doubt::command::{say_answer, tell_of_plan};
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::forecast::text::forecast_text;
use crate::jobs::keep::command::{Beside, ToKeep, keep};
use crate::jobs::keep::command_save::SaveArgs;
use crate::jobs::plan_spec::command::PlanArgs;
use crate::jobs::plan_spec::command_lengths::FoldedArgs;
use crate::jobs::plan_spec::command_named::PlanSpec;
use crate::terminal::json::document;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;

/// Predict a planned book: its swell, the odds of its target, and what makes this uncertain
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook predict --paper 'bond 80' --thread 'linen 25' \\
    --sections 24 --sheets 4 --target rounded-backed
  swellbook predict --paper 'new wove' --caliper 0.11mm \\
    --hardness medium --thread 'linen 18' --leaves 160 \\
    --sheets 4 --on 2 --ends 4 --target 12..22
  swellbook predict --paper 'bond 80' --thread 'linen 25' \\
    --sections 20 --sheets 4 --keep 'ledger 7'
  swellbook predict --plan 'ledger 7' --leaves 160 \\
    --sheets 5 --save 'ledger, thinner'

Name a paper and a thread of the book, or give the size of new ones here.")]
#[command(after_long_help = "\
A paper or thread without trials is predicted from the trials of the others. JSON gives lengths in \
mm, whatever the unit of the book.

--save saves the plan under a name. --plan uses it again, here and in midway, next and report; \
other options then change it.

--keep saves the forecast in the book. Later, record the sewing as a trial of that name and measure \
it in the same state. `swellbook fit` then shows how often forecasts came true.")]
pub(crate) struct Args {
    #[command(flatten)]
    plan: PlanArgs,
    #[command(flatten)]
    folded: FoldedArgs,
    /// Save the forecast, to check it later against trial NAME
    #[arg(long, value_name = "NAME")]
    keep: Option<String>,
    /// The figures that a page showed
    #[arg(skip)]
    pub(super) seen: Option<String>,
    #[command(flatten)]
    save: SaveArgs,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

impl Args {
    /// The plan given by the options alone, without a plan file.
    pub fn spec(&self) -> Result<PlanSpec, CliError> {
        self.plan.said()
    }

    /// The forecast of a plan, with the fore-edge of the options.
    pub fn forecast(&self, spec: &PlanSpec, known: Fitted<'_>) -> Result<Forecast, CliError> {
        spec.forecast(known, self.folded.measured(known)?)
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let spec = args.plan.read(session, &book)?.with_fore_edge(args.folded.typed());
    let bench = Bench::of(&book)?;
    let known = Fitted { book: &book, bench: &bench };
    let mut forecast = args.forecast(&spec, known)?;
    spec.tell_counts(session, &book)?;
    tell_of_plan(session, &forecast, book.config().unit);
    let beside = if args.json { Beside::Json } else { Beside::Sentences };
    let unit = book.config().unit;
    let words = || spec.words(unit);
    let saved = args.save.saved(&book, session, words)?;
    let (typed, seen) = (args.keep.as_deref(), args.seen.as_deref());
    let to_keep = ToKeep { typed, seen, saved, beside };
    keep(session, &mut book, Some(&mut forecast), to_keep)?;
    let text = match args.json {
        true => document(&forecast),
        false => forecast_text(&forecast, book.config(), session.screen()),
    };
    say_answer(session, text, args.json, Fitted { book: &book, bench: &bench })
}
