//! A planned book from flags or a file, shared by `predict` and the commands like it.

use super::answer_typical::TYPICAL;
use super::command_changed::{Changes, Stack};
use super::command_lengths::MeasuredEdge;
use super::command_named::{PlanSpec, described};
use super::command_resolve::{Resolved, resolve};
use super::command_stock;
use super::command_words::{Source, Typed, Words};
use crate::book::{Book, entry_named};
use crate::jobs::entries::text::{disagreement_line, thread_line};
use crate::jobs::fitted::Fitted;
use crate::jobs::forecast::answer::{Forecast, Said, forecast};
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::trade::{Name, Pairs, RUN_KEYS, Thread};
use clap::ArgGroup;
use std::collections::BTreeSet;
use std::path::PathBuf;

pub(crate) type PlanArgs = Typed<PlanFlags>;

/// Words are read by their keys, from these flags as from `--run` and from a file.
#[derive(Clone, Debug, clap::Args)]
#[command(group(ArgGroup::new("arc").args(["round", "plan_file"]).multiple(true)))]
pub(crate) struct PlanFlags {
    /// The paper, by its name in the book
    #[arg(long, value_name = "NAME", required_unless_present_any = ["runs", "plan_file"])]
    paper: Option<String>,
    /// The thread, by its name in the book
    #[arg(long, value_name = "NAME", required_unless_present_any = ["runs", "plan_file"])]
    thread: Option<String>,
    /// Sections in the book
    #[arg(long, value_name = "N", group = "extent")]
    sections: Option<String>,
    /// Leaves in the book, instead of --sections
    #[arg(long, value_name = "N", group = "extent")]
    leaves: Option<String>,
    /// Pages in the book, instead of --sections
    #[arg(long, value_name = "N", group = "extent")]
    pages: Option<String>,
    /// Folded sheets in a section
    #[arg(long, value_name = "N", required_unless_present_any = ["runs", "plan_file"])]
    sheets: Option<String>,
    /// Sections sewn in one traverse: 1 all along, 2 two-on, and so on up to 6 [default: 1]
    #[arg(long, value_name = "N")]
    on: Option<String>,
    /// Sections at each end that are sewn all along whatever --on says; 3+4 if the ends differ
    /// [default: 0]
    #[arg(long, value_name = "N")]
    ends: Option<String>,
    /// The folds are boned; --boned=no leaves out the boning of a saved plan
    #[arg(long, value_name = "yes|no", num_args = 0..=1, require_equals = true,
        default_missing_value = "yes")]
    boned: Option<String>,
    /// One run of sections of a mixed book; repeat for each run: 'paper=A,thread=B,sections=20,
    /// sheets=4,on=1,ends=0,boned=no'. What it leaves out comes from the options above
    #[arg(long = "run", value_name = "KEY=VALUE,…", conflicts_with = "extent")]
    runs: Vec<String>,
    /// Start from a plan that is saved in the book, a kept forecast, or a TOML file; other options
    /// change it. A path such as ./NAME is always a file; - reads standard input
    #[arg(long = "plan", value_name = "NAME|FILE", id = "plan_file", conflicts_with = "runs")]
    plan: Option<PathBuf>,
    /// What to do with leaves that do not fill a section: 'blank' adds blank leaves, 'smaller'
    /// makes one smaller section [default: blank]
    #[arg(long, value_name = "WAY")]
    left_over: Option<String>,
    /// Repairs at the fold: 'tissue=0.02mm,per-section=2', or the build-up of the whole block
    #[arg(long, value_name = "GUARDS")]
    guards: Option<String>,
    /// State to predict: sewn, pressed, knocked or knocked+pressed [default: knocked]
    #[arg(long)]
    state: Option<String>,
    /// The swell you want: a target of the book, or LOW..HIGH in per cent
    #[arg(long, value_name = "NAME|LOW..HIGH")]
    target: Option<String>,
    /// Arc that the spine is rounded to, in degrees; shows the swell that the geometry needs
    #[arg(long, value_name = "DEGREES")]
    round: Option<String>,
    /// Height of the shoulders, if it is backed too
    #[arg(long, value_name = "LENGTH", requires = "arc")]
    shoulder: Option<String>,
    /// Thickness of one leaf, for a paper that is not in the book
    #[arg(long, value_name = "LENGTH")]
    caliper: Option<String>,
    /// hard, medium or soft, for a paper that is not in the book
    #[arg(long)]
    hardness: Option<String>,
    /// Laid diameter, for a thread that is not in the book
    #[arg(long, value_name = "LENGTH")]
    laid: Option<String>,
    /// Count such as 'lea 25/3', for a thread that is not in the book
    #[arg(long)]
    count: Option<String>,
    /// linen, hemp, ramie, jute, cotton, silk or polyester, for --count
    #[arg(long)]
    material: Option<String>,
    /// Who will sew, if the book holds more than one hand; '' is the hand of trials without a name,
    /// and - names none
    #[arg(long, value_name = "NAME")]
    hand: Option<String>,
}

impl PlanArgs {
    /// The plan from the flags and the plan they start from; flags take precedence.
    pub fn read(&self, session: &mut Session<'_>, book: &Book) -> Result<PlanSpec, CliError> {
        let spec = match &self.flags.plan {
            None => self.said(),
            Some(typed) => described(typed, session, book)?.changed(&self.words),
        };
        spec.map(PlanSpec::without_no_hand)
    }

    /// The plan from the flags alone. In a mixed book, `--ends` applies to the whole book.
    pub fn said(&self) -> Result<PlanSpec, CliError> {
        let (whole, runs) = (self.words.clone(), &self.flags.runs);
        if runs.is_empty() {
            return Ok(PlanSpec::of_run(whole));
        }
        let run = |(index, text): (usize, &String)| {
            let source = Source::Run((runs.len() > 1).then_some(index + 1));
            // No run key contains a dash, so each key equals its flag.
            let pairs = Pairs::parse(text, &RUN_KEYS);
            let pairs = pairs.map_err(|error| source.fault("run", &error.to_string()))?;
            let run = Words::of_pairs(source, &RUN_KEYS, &pairs);
            if whole.has(&["ends"]) && run.has(&["ends"]) {
                let message = "--ends gives the ends for the whole book; leave them out here";
                return Err(run.fault("ends", message));
            }
            Ok(run.or_else(&whole.clone().without("ends")))
        };
        let runs = runs.iter().enumerate().map(run).collect::<Result<_, _>>()?;
        Ok(PlanSpec { whole, runs, name: None, changes: Changes::default() })
    }

    /// A typical book of a paper. The flags override its defaults; `thread` is the default thread.
    pub fn typical(&self, paper: &str, thread: Option<&Name>) -> Result<PlanSpec, CliError> {
        let accepted = [&RUN_KEYS[..], &OF_TYPICAL].concat();
        let run = self.words.clone().only(&accepted).without("paper").or_say("paper", paper);
        let run = match (run.get("thread"), thread) {
            (Some(_), _) => run,
            (None, Some(thread)) => run.or_say("thread", thread.as_str()),
            (None, None) => return Err(CliError::Usage(NO_THREAD.to_owned())),
        };
        let (sections, sheets) = TYPICAL;
        let run = if run.has(&["leaves", "pages"]) {
            run
        } else {
            run.or_say("sections", &sections.to_string())
        };
        Ok(PlanSpec::of_run(run.or_say("sheets", &sheets.to_string())))
    }
}

/// What a typical book accepts about the whole of it; the rest is common practice, no source.
const OF_TYPICAL: [&str; 4] = ["hand", "left_over", "state", "guards"];
const NO_THREAD: &str = "the book has no thread yet; name one with --thread and --laid or --count";

impl PlanSpec {
    pub(super) fn of(whole: Words, run: Words) -> Self {
        Self { whole, runs: vec![run], name: None, changes: Changes::default() }
    }

    /// A book of one run, with the same words for the run and the whole book.
    fn of_run(words: Words) -> Self {
        Self::of(words.clone().without("ends"), words)
    }

    /// The plan checked against the book, with its leftover leaves divided.
    pub fn resolved(&self, known: Fitted<'_>) -> Result<Resolved, CliError> {
        resolve(&self.whole, &self.runs, known)
    }

    /// The title of the plan file, if it has one, else the plan's name in the book.
    pub fn title(&self) -> Result<Option<String>, CliError> {
        let title = self.whole.parsed("title", crate::book::title)?;
        Ok(title.or_else(|| self.name.as_ref().map(Name::to_string)))
    }

    /// Replaces the fore-edge by a measured one, as typed.
    pub fn with_fore_edge(mut self, typed: Option<&str>) -> Self {
        if let Some(typed) = typed {
            self.whole = self.whole.without("fore_edge").or_say("fore_edge", typed);
        }
        self
    }

    /// What a fore-edge of the plan is measured on, as text.
    pub fn stack(&self) -> String {
        let stacks = self.runs.iter().map(|run| Stack::of(run).text());
        stacks.collect::<Vec<_>>().join("; ")
    }

    /// The forecast of the plan and its target. A fore-edge `measured` on the folded block takes
    /// precedence over one in the words.
    pub fn forecast(
        &self,
        known: Fitted<'_>,
        measured: Option<MeasuredEdge>,
    ) -> Result<Forecast, CliError> {
        let mut resolved = self.resolved(known)?;
        resolved.measure(measured);
        let Resolved { plan, wanted, divided, guards, doubtful, .. } = resolved;
        let said = Said {
            guards,
            by_geometry: wanted.band.is_none() && wanted.geometry.is_some(),
            doubtful,
            new_hand: known.bench.is_new_hand(plan.hand),
        };
        let band = wanted.band_on(known.bench.fit.fore_edge(&plan).mean);
        let told = forecast(known.bench, plan, band).beside(wanted.geometry);
        Ok(Forecast { divided, said, ..told })
    }

    /// Reports how the counts of new threads were read, as when a thread is recorded, which figures
    /// of a plan the book's own replace, and what a change of the plan does to its leaves.
    pub fn tell_counts(&self, session: &mut Session<'_>, book: &Book) -> Result<(), CliError> {
        let mut told: Vec<Thread> = Vec::new();
        let is_new = |run: &&Words| {
            let name = run.get("thread").unwrap_or_default().trim();
            run.get("count").is_some() && entry_named(book.threads(), name).is_none()
        };
        for run in self.runs.iter().filter(is_new) {
            let thread = command_stock::new_thread(run, book.config().unit)?;
            if !told.contains(&thread) {
                session.tell(&format!("read as thread {}", thread_line(&thread, book.config())));
                disagreement_line(&thread, book.config()).iter().for_each(|it| session.tell(it));
                told.push(thread);
            }
        }
        let is_measured = self.whole.has(&["fore_edge"]);
        let mut notes: BTreeSet<String> =
            self.changes.notes(&self.called(), is_measured).into_iter().collect();
        for run in &self.runs {
            notes.extend(command_stock::replaced(run, book)?);
        }
        notes.iter().for_each(|note| session.tell(&format!("note: {note}")));
        Ok(())
    }
}
