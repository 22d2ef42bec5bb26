//! Every block's measurements before and after knocking down, grouped by paper.

use crate::jobs::fitted::Bench;
use crate::model::mixed::{Ranges, Summary};
use crate::model::{Coefficient, Effects};
use crate::observe::Observations;
use crate::trade::{Hardness, State};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    Factor,
    /// The swell in per cent of the fore-edge.
    Percent,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StepPoint {
    pub state: State,
    /// The measured factor, or the swell in per cent.
    pub value: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub struct TrialSteps {
    pub trial: String,
    /// In order of the work.
    pub points: Vec<StepPoint>,
}

/// The boned blocks of a paper, or those that were not boned.
#[derive(Clone, Debug, PartialEq)]
pub struct BlockSet {
    pub boned: bool,
    /// The paper's fitted factors for blocks boned like these, as sewn and knocked down; `None` if
    /// per cent is drawn.
    pub fitted: Option<[Ranges; 2]>,
    /// In the order of the book.
    pub trials: Vec<TrialSteps>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TakenOut {
    pub middle: f64,
    /// The 90 % range; only known for a factor.
    pub range: Option<(f64, f64)>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct PaperSteps {
    pub paper: String,
    pub hardness: Hardness,
    /// Taken out of the fitted factor, or on average out of its blocks' swell, in percentage
    /// points. `None` if no block was knocked down.
    pub taken_out: Option<TakenOut>,
    /// Blocks that were not boned come first.
    pub sets: Vec<BlockSet>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct KnockdownView {
    pub measure: Measure,
    /// The papers that have blocks, softest first; within a hardness, the one that swallows most
    /// thread first.
    pub papers: Vec<PaperSteps>,
    /// What boning adds to the factor; negative if it takes out. `None` if per cent is drawn or no
    /// block was boned.
    pub boned: Option<Summary>,
}

impl KnockdownView {
    /// Whether it has too many blocks to give each its own row.
    pub fn is_long(&self) -> bool {
        const MOST: usize = 40;
        self.blocks().nth(MOST).is_some()
    }

    pub fn blocks(&self) -> impl Iterator<Item = &TrialSteps> {
        self.papers.iter().flat_map(|paper| &paper.sets).flat_map(|set| &set.trials)
    }

    /// The papers that knocking down takes least and most out of.
    pub fn ends(&self) -> Option<[(&PaperSteps, TakenOut); 2]> {
        let taken = || self.papers.iter().filter_map(|paper| Some((paper, paper.taken_out?)));
        let order = |a: &(&PaperSteps, TakenOut), b: &(&PaperSteps, TakenOut)| {
            a.1.middle.total_cmp(&b.1.middle)
        };
        Some([taken().min_by(order)?, taken().max_by(order)?])
    }
}

/// The paper's trials that were measured with thread, as indices into the observations.
pub(crate) fn trials_of(bench: &Bench, paper: usize) -> impl Iterator<Item = usize> {
    let all = &bench.observations;
    all.sewn_trials().into_iter().filter(move |&trial| all.trials[trial].paper == paper)
}

/// Sort key of a hardness: the softest paper, which swallows most thread, comes first.
pub(crate) fn softest_first(hardness: Hardness) -> usize {
    match hardness {
        Hardness::Soft => 0,
        Hardness::Medium => 1,
        Hardness::Hard => 2,
    }
}

pub fn knockdown_view(bench: &Bench, measure: Measure) -> KnockdownView {
    let all = &bench.observations;
    let gathered = Gathered {
        bench,
        measure,
        effects: bench.fit.effects(&DRAWN),
        fitted: [false, true].map(|boned| bench.fit.factor_ranges(&DRAWN, boned)),
        factors: bench.fit.measured_factors(all),
    };
    let mut levels: Vec<usize> = (0..all.papers.len()).collect();
    let middle = |level: usize| gathered.fitted[0][level].last().map_or(0.0, |it| it.q50);
    levels.sort_by(|&a, &b| {
        let group = |level: usize| softest_first(all.papers[level].hardness);
        group(a).cmp(&group(b)).then(middle(a).total_cmp(&middle(b)))
    });
    let papers: Vec<PaperSteps> = levels.into_iter().filter_map(|it| gathered.paper(it)).collect();
    let is_boned = papers.iter().flat_map(|paper| &paper.sets).any(|set| set.boned);
    let boned = gathered.effects.coefficient(Coefficient::Boned);
    let boned = (is_boned && measure == Measure::Factor).then_some(boned);
    KnockdownView { measure, papers, boned }
}

struct Gathered<'b> {
    bench: &'b Bench,
    measure: Measure,
    effects: Effects,
    /// Indexed by boned, paper and state.
    fitted: [Vec<Vec<Ranges>>; 2],
    /// One for each observation.
    factors: Vec<Option<f64>>,
}

impl Gathered<'_> {
    fn all(&self) -> &Observations {
        &self.bench.observations
    }

    /// `None` for a paper without blocks.
    fn paper(&self, level: usize) -> Option<PaperSteps> {
        let sets: Vec<BlockSet> =
            [false, true].into_iter().filter_map(|boned| self.set(level, boned)).collect();
        let paper = &self.all().papers[level];
        (!sets.is_empty()).then(|| PaperSteps {
            paper: paper.name.to_string(),
            hardness: paper.hardness,
            taken_out: self.taken_out(level, &sets),
            sets,
        })
    }

    fn set(&self, level: usize, boned: bool) -> Option<BlockSet> {
        let own = |&trial: &usize| self.all().trials[trial].boned == boned;
        let trials: Vec<TrialSteps> =
            trials_of(self.bench, level).filter(own).map(|trial| self.steps(trial)).collect();
        let fitted = (self.measure == Measure::Factor)
            .then(|| [0, 1].map(|state| self.fitted[usize::from(boned)][level][state]));
        (!trials.is_empty()).then_some(BlockSet { boned, fitted, trials })
    }

    fn steps(&self, trial: usize) -> TrialSteps {
        let all = self.all();
        let point =
            |row: usize| Some(StepPoint { state: all.rows[row].state, value: self.value(row)? });
        TrialSteps {
            trial: all.trials[trial].name.to_string(),
            points: all.rows_of(trial).filter_map(point).collect(),
        }
    }

    fn value(&self, row: usize) -> Option<f64> {
        let seen = &self.all().rows[row];
        match self.measure {
            Measure::Factor => self.factors[row],
            Measure::Percent => seen.state.has_thread().then(|| self.all().measured_percent(seen)),
        }
    }

    fn taken_out(&self, level: usize, sets: &[BlockSet]) -> Option<TakenOut> {
        let trials = || sets.iter().flat_map(|set| &set.trials);
        match self.measure {
            Measure::Factor => {
                let is_knocked =
                    |trial: &TrialSteps| trial.points.iter().any(|point| point.state.is_knocked());
                let Summary { q05, q50, q95, .. } = self.effects.knocked_out[level];
                trials()
                    .any(is_knocked)
                    .then_some(TakenOut { middle: q50, range: Some((q05, q95)) })
            }
            Measure::Percent => {
                let falls: Vec<f64> = trials().filter_map(TrialSteps::fall).collect();
                let middle = falls.iter().sum::<f64>() / falls.len() as f64;
                (!falls.is_empty()).then_some(TakenOut { middle, range: None })
            }
        }
    }
}

impl BlockSet {
    /// Whether the block, knocked down, is outside the paper's 90 % range.
    pub fn is_out(&self, trial: &TrialSteps) -> bool {
        let found = trial.points.iter().find(|point| point.state == State::Knocked);
        self.fitted.zip(found).is_some_and(|([_, knocked], point)| {
            !(knocked.q05..=knocked.q95).contains(&point.value)
        })
    }
}

impl TrialSteps {
    /// How much the value falls by knocking down; `None` unless it was measured before and after.
    fn fall(&self) -> Option<f64> {
        let of = |state: State| self.points.iter().find(|point| point.state == state);
        let [before, after] = DRAWN.map(of);
        Some(before?.value - after?.value)
    }
}

/// The states in which factors are drawn: before and after knocking down.
pub(crate) const DRAWN: [State; 2] = [State::Sewn, State::Knocked];
