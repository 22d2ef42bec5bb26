//! `next`: the trial block most worth sewing.

use super::answer::{NextOptions, next_trial};
use super::answer_calibrate::calibrate;
use super::answer_candidates::Stock;
use super::answer_minutes::Minutes;
use super::text::next_text;
use super::text_calibration::calibration_text;
use crate::jobs::fitted::Bench;
use crate::jobs::plan_spec::command::{FoldedArgs, PlanArgs, PlanWords};
use crate::terminal::exit::ExitStatus;
use crate::terminal::json::document;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values;
use crate::trade::Pairs;
use clap::{ArgMatches, FromArgMatches};

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
sheets, with the thread of most trials. --thread, --sections and --sheets change this.

With --target it also shows what a block does to the best odds over all ways to sew the leaves. If \
the book has more than twice the sections of your longest trial block, at least one of the blocks \
is a long one.

By default a block counts 20 minutes to set up, 3 for each section (folding and sewing), and 5 for \
each state (preparing and measuring). This is common practice; --minutes gives your own times.")]
pub(crate) struct Args {
    #[command(flatten)]
    question: Question,
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

/// The plan asked for, or the paper to calibrate.
#[derive(Debug)]
enum Question {
    Plan(Box<PlanArgs>),
    /// The plan's flags as typed, `--paper` first.
    NewPaper(Vec<String>),
}

/// The flag and what it is called among the matches.
const NEW_PAPER: &str = "new_paper";
/// Flags that say what the typical book is made of, passed on as they are.
const PASSED_ON: [&str; 12] = [
    "caliper", "hardness", "thread", "laid", "count", "material", "hand", "sheets", "sections",
    "leaves", "pages", "state",
];
/// The typical book where nothing else is said (common practice, no source).
const TYPICAL: [(&str, &str); 2] = [("sections", "24"), ("sheets", "4")];

impl clap::Args for Question {
    fn augment_args(command: clap::Command) -> clap::Command {
        let new_paper = clap::Arg::new(NEW_PAPER)
            .long("new-paper")
            .value_name("NAME")
            .conflicts_with_all(["paper", "runs", "plan_file"])
            .help("An untried paper to calibrate, instead of a plan");
        let command = <PlanArgs as clap::Args>::augment_args(command.arg(new_paper));
        // None of the plan's flags is needed beside --new-paper.
        ["paper", "thread", "sheets"].into_iter().fold(command, |command, needed| {
            command.mut_arg(needed, |arg| arg.required_unless_present(NEW_PAPER))
        })
    }

    fn augment_args_for_update(command: clap::Command) -> clap::Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Question {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        if let Some(name) = matches.get_one::<String>(NEW_PAPER) {
            return Ok(Self::NewPaper(typical(name, matches)));
        }
        PlanArgs::from_arg_matches(matches).map(Box::new).map(Self::Plan)
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
    let needed = TYPICAL.iter().filter(|(id, _)| !(given(id) || *id == "sections" && extent));
    let needed: Vec<String> = needed.map(|(id, value)| format!("--{id}={value}")).collect();
    flags.extend(needed);
    if matches.get_flag("boned") {
        flags.push("--boned".to_owned());
    }
    flags
}

impl Question {
    /// The words of the plan; those of a typical book where a paper is to be calibrated.
    fn words(&self, bench: &Bench, session: &mut Session<'_>) -> Result<PlanWords, CliError> {
        match self {
            Self::Plan(args) => args.read(session),
            Self::NewPaper(flags) => {
                let mut flags = flags.clone();
                if !flags.iter().any(|flag| flag.starts_with("--thread=")) {
                    flags.push(format!("--thread={}", usual_thread(bench)?));
                }
                let command = <PlanArgs as clap::Args>::augment_args(clap::Command::new("next"));
                let typed = std::iter::once("next".to_owned()).chain(flags);
                let args = (command.try_get_matches_from(typed))
                    .and_then(|matches| PlanArgs::from_arg_matches(&matches));
                args.map_err(|error| CliError::Usage(error.to_string()))?.read(session)
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

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let minutes = minutes(args.minutes.as_deref())?;
    let bench = Bench::of(&book)?;
    let (config, width) = (book.config(), session.width());
    let words = args.question.words(&bench, session)?;
    let mut plan = words.plan(&book, &bench)?;
    plan.fore_edge = args.folded.measured(&book, &bench)?.or(plan.fore_edge);
    let text = match &args.question {
        Question::NewPaper(_) => {
            let found = calibrate(&bench, config, plan, minutes)?;
            if args.json { document(&found) } else { calibration_text(&found, config, width) }
        }
        Question::Plan(_) => {
            let stock = if args.any_stock { Stock::Any } else { Stock::OfPlan };
            let band = words.wanted(&book)?.band_on(bench.fit.fore_edge(&plan).mean);
            let asked = (plan, band);
            let next = next_trial(&bench, config, asked, NextOptions { minutes, stock })?;
            if args.json { document(&next) } else { next_text(&next, config, width) }
        }
    };
    session.say(&text)?;
    Ok(ExitStatus::Done)
}
