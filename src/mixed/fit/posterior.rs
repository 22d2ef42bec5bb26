//! A finished fit: weighted draws of the spreads, each with a Gaussian for everything else.

use super::integrate::Draws;
use super::mode::Mode;
use super::proposal::Proposal;
use super::spread_draws::{SpreadDraws, affordable_spread_draws, spread_draws};
use crate::algebra::conditional::{Conditional, Solve};
use crate::algebra::lanes::{LANES, side_by_side};
use crate::algebra::layout::Layout;
use crate::{FitRecord, Spread, SpreadId};
use std::sync::{Arc, OnceLock};

/// The result of linfa's `Fit`. It answers any [`Functional`](crate::Functional).
#[derive(Clone, Debug)]
pub struct Posterior {
    pub(crate) layout: Layout,
    spreads: Vec<Spread>,
    pub(crate) mode: Vec<f64>,
    mode_log_likelihood: f64,
    pub(crate) theta: Vec<Vec<f64>>,
    pub(crate) solved: Option<Vec<Conditional<LANES>>>,
    pub(crate) weights: Arc<[f64]>,
    pub(crate) proposal: Proposal,
    /// Many more draws for questions about the spreads alone, made at the first such question.
    alone: OnceLock<SpreadDraws>,
    record: FitRecord,
}

impl Posterior {
    pub(crate) fn new(layout: Layout, spreads: Vec<Spread>, mode: Mode, draws: Draws) -> Self {
        let record = FitRecord {
            evaluations: mode.evaluations + draws.evaluations,
            draws: draws.theta.len(),
            effective_draws: draws.trust.effective,
            largest_weight: draws.trust.largest,
            pareto_k: draws.trust.pareto_k,
            search: mode.search,
        };
        Self {
            mode: super::mode::spreads_at(&layout, &mode.x),
            mode_log_likelihood: mode.log_likelihood,
            layout,
            spreads,
            theta: draws.theta,
            solved: draws.solved,
            weights: draws.weights.into(),
            proposal: draws.proposal,
            alone: OnceLock::new(),
            record,
        }
    }

    /// The same fit with another layout and other draws. Its mode stays the one that was found.
    pub(crate) fn with(&self, layout: Layout, draws: Draws) -> Self {
        Self {
            layout,
            spreads: self.spreads.clone(),
            mode: self.mode.clone(),
            mode_log_likelihood: self.mode_log_likelihood,
            theta: draws.theta,
            solved: draws.solved,
            weights: draws.weights.into(),
            proposal: draws.proposal,
            alone: OnceLock::new(),
            record: self.record.clone(),
        }
    }

    pub fn record(&self) -> &FitRecord {
        &self.record
    }

    /// The most probable value of a spread. Under flat beliefs this is the REML estimate.
    pub fn mode(&self, id: SpreadId) -> f64 {
        self.mode[id.0]
    }

    /// Log marginal likelihood at the mode.
    pub fn mode_log_likelihood(&self) -> f64 {
        self.mode_log_likelihood
    }

    /// Whether another design has the same spreads, under the same beliefs.
    pub(crate) fn has_spreads(&self, spreads: &[Spread]) -> bool {
        self.spreads == spreads
    }

    /// Number of observations.
    pub fn rows(&self) -> usize {
        self.layout.rows
    }

    /// Draws for questions about the spreads alone: more than the fit's own draws, if more are
    /// affordable.
    pub(crate) fn alone(&self) -> &SpreadDraws {
        self.alone.get_or_init(|| {
            let count = affordable_spread_draws(self.rows());
            match count.filter(|count| *count > self.theta.len()) {
                Some(count) => spread_draws(&self.layout, &self.proposal.without_ring(), count),
                None => SpreadDraws { theta: self.theta.clone(), weights: self.weights.to_vec() },
            }
        })
    }

    /// Number of groups of eight draws.
    pub(crate) fn groups(&self) -> usize {
        self.theta.len().div_ceil(LANES)
    }

    /// Eight draws side by side, kept or solved again.
    pub(crate) fn group<'a>(
        &'a self,
        group: usize,
        solve: &'a mut Solve<'_, LANES>,
    ) -> &'a Conditional<LANES> {
        if let Some(solved) = &self.solved {
            return &solved[group];
        }
        solve.side_by_side(&side_by_side(self.draws_of(group)));
        &solve.system
    }

    /// The spreads of a group of draws.
    pub(crate) fn draws_of(&self, group: usize) -> &[Vec<f64>] {
        let from = group * LANES;
        &self.theta[from..self.theta.len().min(from + LANES)]
    }
}
