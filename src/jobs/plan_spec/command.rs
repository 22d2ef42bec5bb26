//! A planned book from flags or a file: what `predict` and its kin have in common.

use super::command_lengths::measured_edge;
use super::command_resolve::{Resolved, resolve};
use super::command_stock;
use super::command_wanted::Wanted;
use super::command_words::{RunWords, Source, WholeWords};
use crate::book::{Book, PlanFile, RUN_KEYS, read_plan_file};
use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer::{Forecast, forecast};
use crate::model::{Gaussian, Plan, PlannedPaper};
use crate::terminal::input::bytes_of;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::trade::Pairs;
use std::path::PathBuf;

/// The flags that describe a planned book.
#[derive(Debug, clap::Args)]
pub(crate) struct PlanArgs {
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
    /// Sections sewn in one traverse: 1 all along, 2 two-on, 3 three-on [default: 1]
    #[arg(long, value_name = "N")]
    on: Option<String>,
    /// Sections at each end that are sewn all along whatever --on says [default: 0]
    #[arg(long, value_name = "N")]
    ends: Option<String>,
    /// The folds are boned
    #[arg(long)]
    boned: bool,
    /// One run of sections of a mixed book; repeat for each run: 'paper=A,thread=B,sections=20,
    /// sheets=4,on=1,ends=0,boned=no'. What it leaves out comes from the options above
    #[arg(long = "run", value_name = "KEY=VALUE,…", conflicts_with = "extent")]
    runs: Vec<String>,
    /// Read the plan from a TOML file instead of the options above; - reads standard input
    #[arg(long = "plan", value_name = "FILE", id = "plan_file",
        conflicts_with_all = ["runs", "extent", "paper", "thread", "sheets", "on", "ends", "boned",
            "caliper", "hardness", "laid", "count", "material"])]
    file: Option<PathBuf>,
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
    /// Arc that the spine is rounded to, in degrees; shows the swell that this needs by geometry
    #[arg(long, value_name = "DEGREES")]
    round: Option<String>,
    /// Height of the shoulders, if it is backed too
    #[arg(long, value_name = "LENGTH", requires = "round")]
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
    /// linen, cotton, silk or polyester, for --count
    #[arg(long)]
    material: Option<String>,
    /// Who will sew, if the book holds more than one hand
    #[arg(long, value_name = "NAME")]
    hand: Option<String>,
}

/// A planned book in words: what flags and file say, before anything is looked up.
#[derive(Clone, Debug)]
pub(crate) struct PlanWords {
    whole: WholeWords,
    runs: Vec<RunWords>,
}

impl PlanArgs {
    /// The words of flags and file.
    ///
    /// # Errors
    /// [`CliError`] for a file or a run that cannot be read.
    pub fn read(&self, session: &mut Session<'_>) -> Result<PlanWords, CliError> {
        match &self.file {
            None => Ok(PlanWords { whole: self.whole(), runs: self.run_words()? }),
            Some(path) => {
                let (bytes, name) = bytes_of(path, session)?;
                Ok(self.over(read_plan_file(&bytes, &name)?))
            }
        }
    }

    fn whole(&self) -> WholeWords {
        // In a mixed book the ends are those of the whole book.
        let ends = if self.runs.is_empty() { &None } else { &self.ends };
        let pairs = [
            ("ends", ends),
            ("state", &self.state),
            ("target", &self.target),
            ("round", &self.round),
            ("shoulder", &self.shoulder),
            ("guards", &self.guards),
            ("hand", &self.hand),
            ("left_over", &self.left_over),
        ];
        WholeWords::of_flags(pairs)
    }

    /// The words of a file, with those of the flags in their place where there are any.
    fn over(&self, file: PlanFile) -> PlanWords {
        let PlanFile { name, whole, runs } = file;
        let runs = runs.into_iter().map(|table| RunWords::of_table(&name, table)).collect();
        PlanWords { whole: self.whole().over(&name, whole), runs }
    }

    fn flag_words(&self) -> RunWords {
        let pairs = [
            ("paper", &self.paper),
            ("caliper", &self.caliper),
            ("hardness", &self.hardness),
            ("thread", &self.thread),
            ("laid", &self.laid),
            ("count", &self.count),
            ("material", &self.material),
            ("sections", &self.sections),
            ("leaves", &self.leaves),
            ("pages", &self.pages),
            ("sheets", &self.sheets),
            ("on", &self.on),
            ("ends", &self.ends),
        ];
        let boned = self.boned.then(|| "yes".to_owned());
        RunWords::of_flags(pairs.into_iter().chain([("boned", &boned)]))
    }

    fn run_words(&self) -> Result<Vec<RunWords>, CliError> {
        if self.runs.is_empty() {
            return Ok(vec![self.flag_words()]);
        }
        let flags = self.flag_words().without("ends");
        let several = self.runs.len() > 1;
        let run = |(index, text): (usize, &String)| {
            let source = Source::Run(several.then_some(index + 1));
            // None has a dash, so that a flag is its key.
            let pairs = Pairs::parse(text, &RUN_KEYS);
            let pairs = pairs.map_err(|error| source.fault("run", &error.to_string()))?;
            let run = RunWords::of_pairs(source, &pairs);
            if self.ends.is_some() && run.get("ends").is_some() {
                let message =
                    "the ends are given for the whole book by --ends; leave them out here";
                return Err(run.fault("ends", message));
            }
            Ok(run.or_else(&flags))
        };
        self.runs.iter().enumerate().map(run).collect()
    }
}

impl PlanWords {
    /// The plan, checked against the book.
    ///
    /// # Errors
    /// [`CliError`] naming the flag, or every fault of the file.
    pub fn plan(&self, book: &Book, bench: &Bench) -> Result<Plan, CliError> {
        Ok(resolve(&self.whole, &self.runs, (book, bench))?.plan)
    }

    /// The plan with what was done about leaves left over.
    ///
    /// # Errors
    /// As [`PlanWords::plan`].
    pub fn resolved(&self, book: &Book, bench: &Bench) -> Result<Resolved, CliError> {
        resolve(&self.whole, &self.runs, (book, bench))
    }

    /// What the plan is called, where a file says so.
    ///
    /// # Errors
    /// [`CliError`] for a text that can be no title, at its place in the file.
    pub fn title(&self) -> Result<Option<String>, CliError> {
        self.whole.parsed("title", crate::book::title)
    }

    /// The forecast of the plan and its target. A fore-edge measured on the folded block wins over
    /// one in the words.
    ///
    /// # Errors
    /// As [`PlanWords::plan`] and [`PlanWords::wanted`].
    pub fn forecast(
        &self,
        (book, bench): (&Book, &Bench),
        measured: Option<Gaussian>,
    ) -> Result<Forecast, CliError> {
        let wanted = self.wanted(book)?;
        let Resolved { mut plan, divided } = self.resolved(book, bench)?;
        plan.fore_edge = measured.or(plan.fore_edge);
        let band = wanted.band_on(bench.fit.fore_edge(&plan).mean);
        let told = forecast(bench, plan, band).beside(wanted.geometry);
        Ok(Forecast { divided, ..told })
    }

    /// The wanted swell, by target and by geometry.
    ///
    /// # Errors
    /// [`CliError`] for a target that is neither in the book nor a range, or an arc that no spine
    /// has.
    pub fn wanted(&self, book: &Book) -> Result<Wanted, CliError> {
        Wanted::of(&self.whole, book)
    }
}

/// The paper that flags name, and its size where it is new.
///
/// # Errors
/// [`CliError::Value`] names the flag.
pub(crate) fn planned_paper<'f>(
    flags: impl IntoIterator<Item = (&'static str, &'f Option<String>)>,
    stock: (&Book, &Bench),
) -> Result<PlannedPaper, CliError> {
    command_stock::paper(&RunWords::of_flags(flags), stock)
}

/// The flag for a fore-edge that was measured before the sewing.
#[derive(Debug, Default, clap::Args)]
pub(crate) struct FoldedArgs {
    /// Fore-edge measured on the folded block: one or more readings, separated by commas
    #[arg(long, value_name = "LENGTHS")]
    fore_edge: Option<String>,
}

impl FoldedArgs {
    /// Whether anything was measured.
    pub fn is_given(&self) -> bool {
        self.fore_edge.is_some()
    }

    /// The mean of the readings and how well it is known.
    ///
    /// # Errors
    /// [`CliError::Value`] for text that is not a thickness.
    pub fn measured(&self, book: &Book, bench: &Bench) -> Result<Option<Gaussian>, CliError> {
        let Some(typed) = &self.fore_edge else { return Ok(None) };
        measured_edge("--fore-edge", typed, (book, bench))
    }
}
