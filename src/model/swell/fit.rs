use super::beliefs::{Beliefs, Coefficient, SwellSpread};
use super::design::{Conditions, Parts, REFERENCE_SECTIONS};
use super::error::ModelError;
use super::fore_edge::ForeEdgeRatios;
use crate::model::mixed::{
    Design, FitRecord, Functional, MixedParams, Mixture, Posterior, Summary,
};
use crate::observe::Observations;
use crate::trade::{Hardness, State};
use linfa::dataset::DatasetBase;
use linfa::traits::Fit;
use ndarray::Array1;

/// The swell model fitted to a book.
#[derive(Clone, Debug)]
pub struct SwellFit {
    pub(in crate::model) posterior: Posterior,
    pub(in crate::model) parts: Parts,
    pub(in crate::model) ratios: ForeEdgeRatios,
    hardness: Vec<Hardness>,
    threads: usize,
    trials_used: usize,
}

/// What a fit says about coefficients, papers and threads.
#[derive(Clone, Debug, PartialEq)]
pub struct Effects {
    pub coefficients: Vec<(Coefficient, Summary)>,
    /// The factor of every paper, in each of the states asked for.
    pub factors: Vec<Vec<Summary>>,
    /// What knocking down takes out of the factor of every paper.
    pub knocked_out: Vec<Summary>,
    /// What every thread adds to the factor.
    pub threads: Vec<Summary>,
}

impl Effects {
    pub fn coefficient(&self, name: Coefficient) -> Summary {
        self.coefficients[name as usize].1
    }
}

impl SwellFit {
    /// Fits the model to a book's observations.
    ///
    /// # Errors
    /// [`ModelError::Engine`] if too few draws over the spreads count.
    pub fn new(all: &Observations, beliefs: &Beliefs) -> Result<Self, ModelError> {
        Self::with(all, beliefs, MixedParams::new())
    }

    /// As [`SwellFit::new`], with the engine's parameters chosen.
    pub fn with(
        all: &Observations,
        beliefs: &Beliefs,
        params: MixedParams,
    ) -> Result<Self, ModelError> {
        let (parts, design) = Self::declare(all, beliefs);
        let swells = all.rows.iter().map(|row| row.swell_mm).collect();
        Self::of_design(all, parts, design, swells, params)
    }

    /// The design with a row for every observation.
    pub(in crate::model) fn declare(all: &Observations, beliefs: &Beliefs) -> (Parts, Design) {
        let (papers, threads, hands) = (all.papers.len(), all.threads.len(), all.hands.len());
        let (parts, mut design) = Parts::declare(beliefs, papers, threads, hands);
        for observation in &all.rows {
            design.push(parts.row(observation, &all.trials[observation.trial], all));
        }
        (parts, design)
    }

    /// Fits a design whose first rows are those of `all`, with one swell for each row.
    pub(in crate::model) fn of_design(
        all: &Observations,
        parts: Parts,
        design: Design,
        swells_mm: Vec<f64>,
        params: MixedParams,
    ) -> Result<Self, ModelError> {
        let targets = Array1::from_vec(swells_mm);
        let posterior = params.fit(&DatasetBase::new(design, targets))?;
        Ok(Self::of_posterior(all, parts, posterior))
    }

    pub(super) fn of_posterior(all: &Observations, parts: Parts, posterior: Posterior) -> Self {
        Self {
            posterior,
            parts,
            ratios: ForeEdgeRatios::new(all.papers.len(), &all.ratios),
            hardness: all.papers.iter().map(|paper| paper.hardness).collect(),
            threads: all.threads.len(),
            trials_used: all.sewn_trials().len(),
        }
    }

    /// A fit of the beliefs alone, for nominal figures.
    pub fn nominal(beliefs: &Beliefs) -> Result<Self, ModelError> {
        let (parts, design) = Parts::declare(beliefs, 0, 0, 1);
        let none = Array1::from_vec(Vec::new());
        let posterior = MixedParams::new().fit(&DatasetBase::new(design, none))?;
        Ok(Self {
            posterior,
            parts,
            ratios: ForeEdgeRatios::new(0, &[]),
            hardness: Vec::new(),
            threads: 0,
            trials_used: 0,
        })
    }

    /// The same fit under beliefs about coefficients and spreads that are `times` as wide.
    pub fn widened(&self, times: f64) -> Result<Self, ModelError> {
        let posterior = self.posterior.widened(times)?;
        Ok(Self {
            posterior,
            parts: self.parts.clone(),
            ratios: self.ratios.clone(),
            hardness: self.hardness.clone(),
            threads: self.threads,
            trials_used: self.trials_used,
        })
    }

    /// Trials with an observation with thread in the folds.
    pub fn trials_used(&self) -> usize {
        self.trials_used
    }

    pub fn record(&self) -> &FitRecord {
        self.posterior.record()
    }

    /// Log marginal likelihood of the observations with every spread at its most probable value.
    pub fn mode_log_likelihood(&self) -> f64 {
        self.posterior.mode_log_likelihood()
    }

    /// The coefficients, the factor of every paper in each of `states`, what knocking down takes
    /// out of it, and what each thread adds. One pass over the draws gives them all.
    ///
    /// A factor is quoted unboned, at the reference depth `s·t = 0.85·d`, for ten sections sewn all
    /// along, with an average thread and an average sewing.
    pub fn effects(&self, states: &[State]) -> Effects {
        self.effects_with(states, &|_| Functional::default())
    }

    /// As [`SwellFit::effects`], with something added to the factors of each paper.
    pub(super) fn effects_with(
        &self,
        states: &[State],
        added: &dyn Fn(usize) -> Functional,
    ) -> Effects {
        let coefficients = self.parts.each_coefficient();
        let factors = self.hardness.iter().enumerate().flat_map(|(level, &hardness)| {
            let added = added(level);
            let factor = move |&state| self.factor(hardness, Some(level), state).plus_all(&added);
            states.iter().map(factor)
        });
        let out = (0..self.hardness.len()).map(|level| self.taken_out(level));
        let threads = (0..self.threads).map(|level| self.parts.thread(Some(level), 1.0));
        let asked: Vec<_> =
            coefficients.into_iter().chain(factors).chain(out).chain(threads).collect();
        let mut summaries = self.summaries(&asked).into_iter();
        let mut next = |count: usize| summaries.by_ref().take(count).collect::<Vec<_>>();
        Effects {
            coefficients: Coefficient::ALL.into_iter().zip(next(Coefficient::ALL.len())).collect(),
            factors: next(self.hardness.len() * states.len())
                .chunks(states.len().max(1))
                .map(<[Summary]>::to_vec)
                .collect(),
            knocked_out: next(self.hardness.len()),
            threads: next(self.threads),
        }
    }

    pub fn coefficients(&self) -> Vec<(Coefficient, Mixture)> {
        let found = self.posterior.project(&self.parts.each_coefficient());
        Coefficient::ALL.into_iter().zip(found).collect()
    }

    /// The probability that a spread is below `value`; `None` for hands if there is only one.
    pub fn spread_share_below(&self, spread: SwellSpread, value: f64) -> Option<f64> {
        Some(self.posterior.spread_share_below(self.parts.spread(spread)?, value))
    }

    /// Every spread's distribution and its most probable value.
    pub fn spreads(&self) -> Vec<(SwellSpread, Summary, f64)> {
        let spread =
            |&(name, id)| (name, self.posterior.spread_summary(id), self.posterior.mode(id));
        self.parts.spreads().iter().map(spread).collect()
    }

    /// The thread factors of untried papers, one for each hardness and state in `asked`.
    pub fn untried_factors(&self, asked: &[(Hardness, State)]) -> Vec<Summary> {
        let factor = |&(hardness, state): &(Hardness, State)| self.factor(hardness, None, state);
        self.summaries(&asked.iter().map(factor).collect::<Vec<_>>())
    }

    pub fn fore_edge_ratios(&self) -> &ForeEdgeRatios {
        &self.ratios
    }

    /// The papers of the fit with their hardness.
    pub(in crate::model) fn papers(&self) -> impl Iterator<Item = (usize, Hardness)> + '_ {
        self.hardness.iter().copied().enumerate()
    }

    pub(in crate::model) fn factor(
        &self,
        hardness: Hardness,
        level: Option<usize>,
        state: State,
    ) -> Functional {
        let at = Conditions {
            hardness,
            boned: false,
            state,
            depth: 0.0,
            sections: REFERENCE_SECTIONS,
            two_on: false,
        };
        self.parts.fixed(at, 1.0).plus_all(&self.parts.paper(level, state, 1.0))
    }

    /// What knocking down takes out of a paper's factor: `−(knocked + w_j)`.
    fn taken_out(&self, level: usize) -> Functional {
        let sewn = self.parts.paper(Some(level), State::Sewn, 1.0);
        self.parts
            .paper(Some(level), State::Knocked, -1.0)
            .plus_all(&sewn)
            .plus(self.parts.coefficient(Coefficient::Knocked), -1.0)
    }

    pub(super) fn summaries(&self, asked: &[Functional]) -> Vec<Summary> {
        self.posterior.summaries(asked)
    }
}
