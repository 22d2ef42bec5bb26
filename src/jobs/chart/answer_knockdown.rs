//! What every block measured before and after knocking down, grouped by paper.

use crate::jobs::fitted::Bench;
use crate::model::Coefficient;
use crate::model::mixed::{Ranges, Summary};
use crate::trade::State;

/// What is drawn of each block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// The thread factor.
    Factor,
    /// The swell in per cent of the fore-edge.
    Percent,
}

/// A block in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StepPoint {
    pub state: State,
    /// What was measured: a factor, or per cent.
    pub value: f64,
}

/// A block from state to state.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialSteps {
    /// Its name.
    pub trial: String,
    /// Whether its folds were boned down.
    pub boned: bool,
    /// Its states in order of the work.
    pub points: Vec<StepPoint>,
}

/// What the fit says of a paper in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StateRange {
    pub state: State,
    /// The factor, unboned.
    pub factor: Ranges,
}

/// A paper's blocks.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperSteps {
    pub paper: String,
    /// Its fitted factors; empty where per cent is drawn, which no factor is.
    pub fitted: Vec<StateRange>,
    /// What knocking down takes out of its factor.
    pub knocked_out: Summary,
    /// Its blocks, in the order of the book.
    pub trials: Vec<TrialSteps>,
}

/// Every block of a book.
#[derive(Clone, Debug, PartialEq)]
pub struct KnockdownView {
    /// What is drawn.
    pub measure: Measure,
    /// The papers that have blocks, in the order of the book.
    pub papers: Vec<PaperSteps>,
    /// What boning adds to the factor: below zero where it takes out.
    pub boned: Summary,
}

/// Trials of a paper with thread in them, as places in the observations.
pub(crate) fn trials_of(bench: &Bench, paper: usize) -> impl Iterator<Item = usize> {
    let all = &bench.observations;
    let sewn = move |&trial: &usize| {
        all.rows.iter().any(|row| row.trial == trial && row.state.has_thread())
    };
    let own = move |&trial: &usize| all.trials[trial].paper == paper;
    all.observed_trials().into_iter().filter(own).filter(sewn)
}

/// Gathers every block, by factor or in per cent.
pub fn knockdown_view(bench: &Bench, measure: Measure) -> KnockdownView {
    let all = &bench.observations;
    let effects = bench.fit.effects(&DRAWN);
    let fitted = bench.fit.factor_ranges(&DRAWN);
    let factors = bench.fit.measured_factors(all);
    let value = |row: usize| match measure {
        Measure::Factor => factors[row],
        Measure::Percent => {
            let seen = &all.rows[row];
            let swell = seen.swell_mm + all.trials[seen.trial].guards_mm;
            seen.state.has_thread().then(|| 100.0 * swell / seen.fore_edge_mm)
        }
    };
    let steps = |trial: usize| TrialSteps {
        trial: all.trials[trial].name.to_string(),
        boned: all.trials[trial].boned,
        points: (0..all.rows.len())
            .filter(|&row| all.rows[row].trial == trial)
            .filter_map(|row| Some(StepPoint { state: all.rows[row].state, value: value(row)? }))
            .collect(),
    };
    let paper = |level: usize| PaperSteps {
        paper: all.papers[level].name.to_string(),
        fitted: match measure {
            Measure::Factor => (DRAWN.into_iter().zip(&fitted[level]))
                .map(|(state, &factor)| StateRange { state, factor })
                .collect(),
            Measure::Percent => Vec::new(),
        },
        knocked_out: effects.knocked_out[level],
        trials: trials_of(bench, level).map(steps).collect(),
    };
    KnockdownView {
        measure,
        papers: (0..all.papers.len()).map(paper).filter(|p| !p.trials.is_empty()).collect(),
        boned: effects.coefficient(Coefficient::Boned),
    }
}

/// The states a factor is drawn in: before and after knocking down.
pub(crate) const DRAWN: [State; 2] = [State::Sewn, State::Knocked];
