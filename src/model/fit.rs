//! The fit of a book.

use super::beliefs::{Beliefs, Coefficient, SwellSpread};
use super::design::{Conditions, Parts};
use super::fore_edge::ForeEdgeRatios;
use super::mixed::{FitRecord, Functional, MixedParams, Mixture, Posterior, Summary};
use super::{ModelError, Plan};
use crate::observe::Observations;
use crate::trade::{Hardness, State};
use linfa::dataset::DatasetBase;
use linfa::traits::Fit;
use ndarray::Array1;

/// The swell model fitted to a book.
#[derive(Clone, Debug)]
pub struct SwellFit {
    pub(super) posterior: Posterior,
    pub(super) parts: Parts,
    pub(super) ratios: ForeEdgeRatios,
    hardness: Vec<Hardness>,
    threads: usize,
    trials_used: usize,
}

impl SwellFit {
    /// Fits the model to a book's observations.
    ///
    /// # Errors
    /// [`ModelError::Engine`] where too few draws over the spreads count.
    pub fn new(all: &Observations, beliefs: &Beliefs) -> Result<Self, ModelError> {
        let (papers, threads) = (all.papers.len(), all.threads.len());
        let (parts, mut design) = Parts::declare(beliefs, papers, threads, all.hands.len());
        for observation in &all.rows {
            design.push(parts.row(observation, &all.trials[observation.trial], all));
        }
        let targets = Array1::from_iter(all.rows.iter().map(|row| row.swell_mm));
        let posterior = MixedParams::new().fit(&DatasetBase::new(design, targets))?;
        Ok(Self {
            posterior,
            parts,
            ratios: ForeEdgeRatios::new(papers, &all.ratios),
            hardness: all.papers.iter().map(|paper| paper.hardness).collect(),
            threads,
            trials_used: all.observed_trials().len(),
        })
    }

    /// The beliefs alone: what nominal figures say.
    ///
    /// # Errors
    /// As [`SwellFit::new`].
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

    /// A plan as nominal figures see it: nothing in it was tried.
    pub fn untried(plan: &Plan) -> Plan {
        plan.untried()
    }

    /// Trials with at least one observation.
    pub fn trials_used(&self) -> usize {
        self.trials_used
    }

    /// How the fit came about.
    pub fn record(&self) -> &FitRecord {
        self.posterior.record()
    }

    /// Log marginal likelihood of the observations with every spread at its most probable value.
    pub fn mode_log_likelihood(&self) -> f64 {
        self.posterior.mode_log_likelihood()
    }

    /// Every coefficient's distribution.
    pub fn coefficients(&self) -> Vec<(Coefficient, Summary)> {
        let asked = Coefficient::ALL
            .map(|name| Functional::default().plus(self.parts.coefficient(name), 1.0));
        Coefficient::ALL.into_iter().zip(self.summaries(&asked)).collect()
    }

    /// Every spread's distribution and its most probable value.
    pub fn spreads(&self) -> Vec<(SwellSpread, Summary, f64)> {
        let spread =
            |&(name, id)| (name, self.posterior.spread_summary(id), self.posterior.mode(id));
        self.parts.spreads().iter().map(spread).collect()
    }

    /// The thread factor of every paper in each of `states`: unboned, at the reference depth
    /// `s·t = 0.85·d`, with an average thread and an average sewing.
    pub fn factors(&self, states: &[State]) -> Vec<Vec<Summary>> {
        let papers = self.hardness.iter().enumerate();
        let asked: Vec<_> = papers
            .flat_map(|(level, &hardness)| {
                states.iter().map(move |&state| self.factor(hardness, Some(level), state))
            })
            .collect();
        self.summaries(&asked).chunks(states.len()).map(<[Summary]>::to_vec).collect()
    }

    /// The thread factor of a paper of this hardness that was never tried.
    pub fn untried_factor(&self, hardness: Hardness, state: State) -> Summary {
        self.posterior.project(&[self.factor(hardness, None, state)])[0].summary()
    }

    /// What knocking down takes out of the factor, for every paper.
    pub fn knocked_out(&self) -> Vec<Summary> {
        let asked: Vec<_> = (0..self.hardness.len())
            .map(|level| {
                let knocked = self.parts.coefficient(Coefficient::Knocked);
                let both = self.parts.paper(Some(level), State::Knocked, -1.0);
                let sewn = self.parts.paper(Some(level), State::Sewn, 1.0);
                Functional::default().plus(knocked, -1.0).plus_all(&both).plus_all(&sewn)
            })
            .collect();
        self.summaries(&asked)
    }

    /// What each thread adds to the factor.
    pub fn thread_effects(&self) -> Vec<Summary> {
        let asked: Vec<_> =
            (0..self.threads).map(|level| self.parts.thread(Some(level), 1.0)).collect();
        self.summaries(&asked)
    }

    /// Fore-edge ratios by paper.
    pub fn fore_edge_ratios(&self) -> &ForeEdgeRatios {
        &self.ratios
    }

    fn factor(&self, hardness: Hardness, level: Option<usize>, state: State) -> Functional {
        let at = Conditions { hardness, boned: false, state, depth: 0.0 };
        self.parts.fixed(at, 1.0).plus_all(&self.parts.paper(level, state, 1.0))
    }

    fn summaries(&self, asked: &[Functional]) -> Vec<Summary> {
        self.posterior.project(asked).iter().map(Mixture::summary).collect()
    }
}
