//! A planned book: runs of sections and the state asked for.

use super::error::ModelError;
use super::fore_edge::Gaussian;
use crate::observe::{Observations, PaperLevel, ThreadLevel};
use crate::trade::{Hardness, Name, Sewing, State};
use crate::units::fields;
use serde::{Serialize, Serializer};

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlannedPaper {
    #[serde(rename = "paper")]
    pub name: Name,
    /// Its index among the papers of the fit; `None` if it is not in the book.
    #[serde(rename = "in_book", serialize_with = "is_there")]
    pub level: Option<usize>,
    pub caliper_mm: f64,
    pub hardness: Hardness,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlannedThread {
    #[serde(rename = "thread")]
    pub name: Name,
    /// Its index among the threads of the fit; `None` if it is not in the book.
    #[serde(skip)]
    pub level: Option<usize>,
    #[serde(rename = "laid_mm")]
    pub diameter_mm: f64,
}

impl PlannedPaper {
    /// A paper of the fit, by its index.
    pub fn of(all: &Observations, level: usize) -> Self {
        let PaperLevel { name, caliper_mm, hardness } = all.papers[level].clone();
        Self { name, level: Some(level), caliper_mm, hardness }
    }
}

impl PlannedThread {
    /// A thread of the fit, by its index.
    pub fn of(all: &Observations, level: usize) -> Self {
        let ThreadLevel { name, diameter_mm } = all.threads[level].clone();
        Self { name, level: Some(level), diameter_mm }
    }
}

/// Sections of one paper, sewn in one way with one thread, with their folds boned down or not.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Run {
    #[serde(flatten)]
    pub paper: PlannedPaper,
    #[serde(flatten)]
    pub thread: PlannedThread,
    #[serde(flatten)]
    pub sewing: Sewing,
    pub boned: bool,
}

fn is_there<S: Serializer>(level: &Option<usize>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_bool(level.is_some())
}

impl Run {
    /// Nominal thread build-up D in mm.
    pub fn build_up_mm(&self) -> f64 {
        self.thread.diameter_mm * self.sewing.effective_sections()
    }

    /// Leaves × caliper in mm.
    pub fn leaves_mm(&self) -> f64 {
        f64::from(self.sewing.leaves()) * self.paper.caliper_mm
    }

    /// The sewings of runs, as one where a traverse can cross from a run to the next.
    pub fn sewings(runs: &[Self]) -> Vec<Sewing> {
        let mut all: Vec<Sewing> = Vec::new();
        for of_thread in runs.chunk_by(|one, other| one.thread == other.thread) {
            let begin = all.len();
            for run in of_thread {
                let joined = all[begin..].last().and_then(|last| last.joined(run.sewing));
                all.truncate(all.len() - usize::from(joined.is_some()));
                all.push(joined.unwrap_or(run.sewing));
            }
        }
        all
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    runs: Vec<Run>,
    pub state: State,
    /// Build-up of repairs at the fold over the block, in mm.
    pub guards_mm: f64,
    /// The hand that will sew, as an index among the hands of the fit.
    pub hand: Option<usize>,
    /// A fore-edge measured on the folded block, in mm, which replaces the predicted one.
    pub fore_edge: Option<Gaussian>,
}

impl Plan {
    /// A plan of one or more runs, in `state`.
    ///
    /// # Errors
    /// [`ModelError::Plan`] without runs, or for a state without thread.
    pub fn new(runs: Vec<Run>, state: State) -> Result<Self, ModelError> {
        let refuse = |message: &str| Err(ModelError::Plan { message: message.to_owned() });
        if runs.is_empty() {
            return refuse("a plan needs at least one run of sections");
        }
        if !state.has_thread() {
            return refuse("an unsewn block has no swell to predict; choose sewn or knocked");
        }
        Ok(Self { runs, state, guards_mm: 0.0, hand: None, fore_edge: None })
    }

    pub fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// The runs, for changes that keep their number.
    pub fn runs_mut(&mut self) -> &mut [Run] {
        &mut self.runs
    }

    /// Whether the folds of every run are boned down.
    pub fn is_boned(&self) -> bool {
        self.runs.iter().all(|run| run.boned)
    }

    pub fn sections(&self) -> u32 {
        self.runs.iter().map(|run| u32::from(run.sewing.sections())).sum()
    }

    pub fn leaves(&self) -> u32 {
        self.runs.iter().map(|run| run.sewing.leaves()).sum()
    }

    /// The measured fore-edge of this many of its leaves, such as those that are not blank.
    pub fn fore_edge_of(&self, leaves: u32) -> Option<Gaussian> {
        let share = f64::from(leaves) / f64::from(self.leaves());
        self.fore_edge.map(|Gaussian { mean, sd }| Gaussian { mean: share * mean, sd: share * sd })
    }

    /// The same plan with untried papers, threads and hands, for nominal figures.
    pub fn untried(&self) -> Self {
        let mut plan = self.clone();
        for run in &mut plan.runs {
            run.paper.level = None;
            run.thread.level = None;
        }
        plan.hand = None;
        plan
    }
}

/// `boned` covers the whole plan, and each run has its own as well.
impl Serialize for Plan {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        fields!(serializer,
            "state": self.state,
            "boned": self.is_boned(),
            "guards_mm": self.guards_mm,
            "runs": self.runs,
        )
    }
}
