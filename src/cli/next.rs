//! `next`: the trial block most worth sewing.

use super::planned::{FoldedArgs, PlanArgs};
use super::prompt::by_flag;
use super::{CliError, ExitStatus, Outcome, Session, values};
use crate::book::Book;
use crate::decide::{Bench, Minutes, NextOptions, Stock, calibrate, next_trial};
use crate::model::Plan;
use crate::show;
use crate::trade::Pairs;
use clap::{ArgMatches, FromArgMatches};

/// Say which trial block to sew next for a plan, and how much doubt it takes away
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook next --paper 'bond 80' --thread 'linen 25' \\
    --sections 24 --sheets 4
  swellbook next --new-paper 'new wove' --caliper 0.11mm \\
    --hardness medium --thread 'linen 25'
  swellbook next --paper 'bond 80' --thread 'linen 25' \\
    --sections 24 --sheets 4 --minutes 'setup=10,section=2'

The first asks for a planned book, the second for the blocks that calibrate a paper never tried.")]
#[command(after_long_help = "\
The plan is described as for predict. With --new-paper it is a typical book, 24 sections of 4 \
sheets unless said otherwise, with the thread that most trials were sewn with unless --thread \
names one. Minutes are common practice until --minutes gives yours: 20 to set up, 3 for each \
section (folding and sewing), 5 for each state (bringing the block into it and measuring).")]
pub(crate) struct Args {
    #[command(flatten)]
    question: Question,
    #[command(flatten)]
    folded: FoldedArgs,
    /// Minutes at the bench: 'setup=20,section=3,state=5', or some of them
    #[arg(long, value_name = "MINUTES")]
    minutes: Option<String>,
    /// Also consider every other paper and thread of the book
    #[arg(long)]
    any_stock: bool,
    /// One JSON object instead of sentences
    #[arg(long)]
    json: bool,
}

/// The plan asked for, or the paper to calibrate.
#[derive(Debug)]
enum Question {
    Plan(Box<PlanArgs>),
    /// The plan's flags as typed, `--paper` first.
    NewPaper(Vec<String>),
}

/// The flag and what it is called among the matches.
const NEW_PAPER: &str = "new_paper";
const NO_QUESTION: &str = "say which book it is for, with --paper, --thread, --sections and \
                           --sheets, or which paper to calibrate, with --new-paper\n";
/// Flags that say what the typical book is made of, passed on as they are.
const PASSED_ON: [&str; 11] = [
    "caliper", "hardness", "thread", "laid", "count", "material", "hand", "sheets", "sections",
    "leaves", "pages",
];
/// The typical book where nothing else is said (common practice, no source).
const TYPICAL: [(&str, &str); 2] = [("sections", "24"), ("sheets", "4")];

impl clap::Args for Question {
    fn augment_args(command: clap::Command) -> clap::Command {
        let new_paper = clap::Arg::new(NEW_PAPER)
            .long("new-paper")
            .value_name("NAME")
            .conflicts_with("paper")
            .help("In place of a plan: a paper never tried, to be calibrated");
        // None of the plan's flags is needed beside --new-paper.
        <PlanArgs as clap::Args>::augment_args_for_update(command.arg(new_paper))
    }

    fn augment_args_for_update(command: clap::Command) -> clap::Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Question {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        match matches.get_one::<String>(NEW_PAPER) {
            Some(name) => Ok(Self::NewPaper(typical(name, matches))),
            None => match PlanArgs::from_arg_matches(matches) {
                Ok(plan) => Ok(Self::Plan(Box::new(plan))),
                Err(error) => Err(clap::Error::raw(error.kind(), NO_QUESTION)),
            },
        }
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

/// The flags of a typical book of a paper.
fn typical(paper: &str, matches: &ArgMatches) -> Vec<String> {
    let typed = |id: &str| {
        let mut values = matches.try_get_raw(id).ok().flatten()?;
        values.next().map(|value| value.to_string_lossy().into_owned())
    };
    let mut flags = vec![format!("--paper={paper}")];
    let passed = PASSED_ON.iter().filter_map(|id| Some(format!("--{id}={}", typed(id)?)));
    flags.extend(passed);
    let given = |id| flags.iter().any(|flag: &String| flag.starts_with(&format!("--{id}=")));
    let extent = ["sections", "leaves", "pages"].into_iter().any(given);
    let needed = TYPICAL.iter().filter(|(id, _)| !given(id) && !(*id == "sections" && extent));
    let needed: Vec<String> = needed.map(|(id, value)| format!("--{id}={value}")).collect();
    flags.extend(needed);
    if matches.get_flag("boned") {
        flags.push("--boned".to_owned());
    }
    flags
}

impl Question {
    fn plan(&self, book: &Book, bench: &Bench) -> Result<Plan, CliError> {
        match self {
            Self::Plan(args) => args.plan(book, bench),
            Self::NewPaper(flags) => {
                let mut flags = flags.clone();
                if !flags.iter().any(|flag| flag.starts_with("--thread=")) {
                    flags.push(format!("--thread={}", usual_thread(bench)?));
                }
                let command = <PlanArgs as clap::Args>::augment_args(clap::Command::new("next"));
                let matches =
                    command.try_get_matches_from(std::iter::once("next".to_owned()).chain(flags));
                let args = matches.and_then(|matches| PlanArgs::from_arg_matches(&matches));
                let args = args.map_err(|error| CliError::Usage(error.to_string()))?;
                args.plan(book, bench)
            }
        }
    }
}

/// The thread that most trials were sewn with, the first of equals.
fn usual_thread(bench: &Bench) -> Result<String, CliError> {
    bench.usual_thread().map(ToString::to_string).ok_or_else(|| {
        let why = "the book has no thread yet; name one with --thread and --laid or --count";
        CliError::Usage(why.to_owned())
    })
}

/// Minutes as typed, with common practice for those left out.
fn minutes(typed: Option<&str>) -> Result<Minutes, CliError> {
    let Some(typed) = typed else { return Ok(Minutes::default()) };
    let parse = |text: &str| -> Result<Minutes, String> {
        let pairs = Pairs::parse(text, &Minutes::NAMES).map_err(|error| error.to_string())?;
        let mut each = Minutes::default().each();
        for (name, minutes) in Minutes::NAMES.into_iter().zip(&mut each) {
            if let Some(value) = pairs.get(name) {
                *minutes = values::number(value, &["min"])?;
            }
        }
        Minutes::new(each).map_err(|error| error.to_string())
    };
    by_flag("--minutes", typed, parse)
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let minutes = minutes(args.minutes.as_deref())?;
    let bench = Bench::of(&book)?;
    let (config, width) = (book.config(), session.width());
    let mut plan = args.question.plan(&book, &bench)?;
    plan.fore_edge = args.folded.measured(&book, &bench)?;
    let text = match &args.question {
        Question::NewPaper(_) => {
            let found = calibrate(&bench, config, plan, minutes)?;
            if args.json {
                show::calibration_json(&found)
            } else {
                show::calibration_text(&found, config, width)
            }
        }
        Question::Plan(plan_args) => {
            let stock = if args.any_stock { Stock::Any } else { Stock::OfPlan };
            let asked = (plan, plan_args.band(&book)?);
            let next = next_trial(&bench, config, asked, NextOptions { minutes, stock })?;
            if args.json { show::next_json(&next) } else { show::next_text(&next, config, width) }
        }
    };
    session.say(&text)?;
    Ok(ExitStatus::Done)
}
