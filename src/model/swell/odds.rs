//! What a trial block not yet sewn will do to the best odds among several plans.

use super::error::ModelError;
use super::fit::SwellFit;
use super::fore_edge::Gaussian;
use super::plan::Plan;
use super::worth::{TrialBlock, Wondered};
use crate::model::mixed::{Outlook, in_ranges, normal_cdf_between, surprises};
use crate::observe::Observations;

/// Draws of the spreads that are looked at, and points for what a block may show; a test holds what
/// more of them would change.
const POINTS: (usize, usize) = (128, 64);

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
            normal_cdf_between(
                (ratio * edge.mean - mean) / (variance + (ratio * edge.sd).powi(2)).sqrt(),
            )
        };
        below(self.bounds.1) - below(self.bounds.0)
    }

    /// The chance of every plan with these means and variances at each draw, on average.
    fn chances(&self, of: impl Fn(usize, usize) -> (f64, f64)) -> Vec<f64> {
        let mut sums = vec![0.0; self.edges.len()];
        for draw in 0..self.outlooks.len() {
            for (plan, sum) in sums.iter_mut().enumerate() {
                let (mean, variance) = of(draw, plan);
                *sum += self.chance(self.edges[plan], mean, variance);
            }
        }
        sums.iter().map(|sum| sum / self.outlooks.len() as f64).collect()
    }

    /// By how much the best odds will be above those of the plan that is best now, on average over
    /// what a set may show.
    fn gain(&self, set: usize, best: usize, surprises: &[Vec<f64>]) -> f64 {
        // What a set leaves of a variance is the same whatever it shows.
        let left = |outlook: &Outlook| -> Vec<f64> {
            let after = |plan| outlook.after(plan, &outlook.moves[set]).max(0.0);
            (0..self.edges.len()).map(after).collect()
        };
        let variances: Vec<Vec<f64>> = self.outlooks.iter().map(left).collect();
        let one = |shown: &Vec<f64>| {
            let chances = self.chances(|draw, plan| {
                let outlook = &self.outlooks[draw];
                let moves = outlook.moves[set].iter().zip(shown);
                let shift: f64 = moves.map(|(z, surprise)| z[plan] * surprise).sum();
                (outlook.now[plan].0 + shift, variances[draw][plan])
            });
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
        self.odds_gained_at(all, choosing, blocks, POINTS)
    }

    fn odds_gained_at(
        &self,
        all: &Observations,
        choosing: Choosing<'_>,
        blocks: &[TrialBlock],
        (draws, points): (usize, usize),
    ) -> Result<Vec<f64>, ModelError> {
        let Some(plan) = choosing.plans.first() else { return Ok(vec![0.0; blocks.len()]) };
        let wondered = Wondered { all, plan, sewn: &[], others: blocks };
        let sets = self.asked(wondered)?.sets;
        let asked: Vec<_> = choosing.plans.iter().map(|plan| self.swell(plan)).collect();
        let edges: Vec<Gaussian> = choosing.plans.iter().map(|p| self.fore_edge(p)).collect();
        let outlooks = self.posterior.outlooks(&asked, &sets, draws);
        let bounds = (choosing.low_percent / 100.0, choosing.high_percent / 100.0);
        let scene = Scene { outlooks: &outlooks, edges: &edges, bounds };
        let now = scene.chances(|draw, plan| outlooks[draw].now[plan]);
        let best = (0..now.len()).max_by(|&a, &b| now[a].total_cmp(&now[b])).unwrap_or(0);
        Ok(in_ranges(sets.len(), |range| {
            range.map(|set| scene.gain(set, best, &surprises(points, sets[set].len()))).collect()
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::swell::admit::admit;
    use crate::model::swell::beliefs::Beliefs;
    use crate::model::swell::plan::{PlannedPaper, PlannedThread, Run};
    use crate::observe::{Weighing, observe_entries};
    use crate::trade::{Hardness, Sewing, State};
    use crate::units::Millimetres;

    fn plan(diameter_mm: f64, sheets: u16, on: u8) -> Plan {
        let paper = PlannedPaper {
            name: "wove".parse().unwrap(),
            level: None,
            caliper_mm: 0.12,
            hardness: Hardness::Medium,
        };
        let name = format!("cord {diameter_mm}").parse().unwrap();
        let thread = PlannedThread { name, level: None, diameter_mm };
        let sewing = Sewing::new(96 / sheets, sheets, on, 0).unwrap();
        Plan::new(vec![Run { paper, thread, sewing, boned: false }], State::Knocked).unwrap()
    }

    /// Before any trial, where there is most to be learnt.
    #[test]
    fn more_draws_and_points_change_a_gain_by_less_than_a_point() {
        let ways = [0.4, 0.55].into_iter().flat_map(|diameter| {
            (3..=6).flat_map(move |sheets| [1, 2].map(|on| plan(diameter, sheets, on)))
        });
        let resolution = Millimetres::new(0.01).unwrap();
        let none = observe_entries(&Default::default(), resolution, Weighing::Judged).unwrap();
        let (all, plans) = admit(&none, &ways.collect::<Vec<_>>());
        let fit = SwellFit::new(&all, &Beliefs::default()).unwrap();
        let choosing = Choosing { plans: &plans, low_percent: 20.0, high_percent: 30.0 };
        let block = |sections, states: &[State]| TrialBlock {
            run: Run {
                sewing: Sewing::new(sections, 4, 1, 0).unwrap(),
                ..plans[2].runs()[0].clone()
            },
            hand: 0,
            states: states.to_vec(),
            readings: 3,
        };
        let blocks = [
            block(6, &[State::Sewn]),
            block(10, &[State::Sewn, State::Knocked]),
            block(24, &[State::Unsewn, State::Sewn, State::Knocked]),
        ];
        let gains = |points| fit.odds_gained_at(&all, choosing, &blocks, points).unwrap();
        let (few, many) = (gains(POINTS), gains((256, 512)));
        for (few, many) in few.iter().zip(&many) {
            assert!((few - many).abs() < 0.01, "{few} {many}");
        }
        // More states of a longer block teach more.
        assert!(many[0] > 0.05 && many[1] > many[0] && many[2] > many[1], "{many:?}");
    }
}
