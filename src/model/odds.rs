//! What a trial block not yet sewn will do to the best odds among several plans.

use super::mixed::{Outlook, in_ranges, normal_cdf, surprises};
use super::worth::{TrialBlock, Wondered};
use super::{Gaussian, ModelError, Plan, SwellFit};
use crate::observe::Observations;

/// Draws of the spreads that are looked at. With 256 the gains of the demonstration book differ by
/// less than a tenth of a point.
const DRAWS: usize = 32;
/// What the block may show: so many points of its surprises.
const SURPRISES: usize = 32;

/// Plans that one of can be chosen from, and the wanted swell.
#[derive(Clone, Copy, Debug)]
pub struct Choosing<'a> {
    /// The plans.
    pub plans: &'a [Plan],
    /// The wanted swell from here, in per cent.
    pub low_percent: f64,
    /// To here.
    pub high_percent: f64,
}

/// The plans at each draw, with their fore-edges.
struct Scene<'a> {
    outlooks: &'a [Outlook],
    edges: &'a [Gaussian],
    /// Ratios of the target.
    bounds: (f64, f64),
}

impl Scene<'_> {
    /// The chance of the target for a plan whose swell is normal.
    fn chance(&self, edge: Gaussian, mean: f64, variance: f64) -> f64 {
        let below = |ratio: f64| {
            normal_cdf((ratio * edge.mean - mean) / (variance + (ratio * edge.sd).powi(2)).sqrt())
        };
        below(self.bounds.1) - below(self.bounds.0)
    }

    /// The chances of every plan once a set has shown these surprises.
    fn chances(&self, set: Option<usize>, surprises: &[f64]) -> Vec<f64> {
        let count = self.outlooks.len() as f64;
        let mut sums = vec![0.0; self.edges.len()];
        for outlook in self.outlooks {
            let moves = set.map_or(&[][..], |set| &outlook.moves[set]);
            for (plan, sum) in sums.iter_mut().enumerate() {
                let shift: f64 = moves.iter().zip(surprises).map(|(z, s)| z[plan] * s).sum();
                let variance = outlook.after(plan, moves).max(0.0);
                *sum += self.chance(self.edges[plan], outlook.now[plan].0 + shift, variance);
            }
        }
        sums.iter().map(|sum| sum / count).collect()
    }

    /// By how much the best odds will be above those of the plan that is best now, on average.
    fn gain(&self, set: usize, best: usize, surprises: &[Vec<f64>]) -> f64 {
        let one = |shown: &Vec<f64>| {
            let chances = self.chances(Some(set), shown);
            chances.iter().copied().fold(f64::NEG_INFINITY, f64::max) - chances[best]
        };
        surprises.iter().map(one).sum::<f64>() / surprises.len() as f64
    }
}

impl SwellFit {
    /// By how much each of `blocks`, sewn and measured alone, raises the best odds among plans on
    /// average: what is then known may make another plan the best, and of what is not changed the
    /// odds stay on average what they are. Source: docs/model.md, "The next trial".
    ///
    /// # Errors
    /// As [`SwellFit::wonder`].
    pub fn odds_gained(
        &self,
        all: &Observations,
        choosing: Choosing<'_>,
        blocks: &[TrialBlock],
    ) -> Result<Vec<f64>, ModelError> {
        let Some(plan) = choosing.plans.first() else { return Ok(vec![0.0; blocks.len()]) };
        let wondered = Wondered { all, plan, sewn: &[], others: blocks };
        let sets = self.asked(wondered)?.sets;
        let asked: Vec<_> = choosing.plans.iter().map(|plan| self.swell(plan)).collect();
        let edges: Vec<Gaussian> = choosing.plans.iter().map(|p| self.fore_edge(p)).collect();
        let outlooks = self.posterior.outlooks(&asked, &sets, DRAWS);
        let bounds = (choosing.low_percent / 100.0, choosing.high_percent / 100.0);
        let scene = Scene { outlooks: &outlooks, edges: &edges, bounds };
        let now = scene.chances(None, &[]);
        let best = (0..now.len()).max_by(|&a, &b| now[a].total_cmp(&now[b])).unwrap_or(0);
        Ok(in_ranges(sets.len(), |range| {
            range.map(|set| scene.gain(set, best, &surprises(SURPRISES, sets[set].len()))).collect()
        }))
    }
}
