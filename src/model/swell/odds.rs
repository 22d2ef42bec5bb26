//! How much a trial block not yet sewn would improve the best odds among several plans.

use super::error::ModelError;
use super::fit::SwellFit;
use super::fore_edge::Gaussian;
use super::plan::Plan;
use super::worth::{TrialBlock, Wondered};
use crate::model::mixed::{Outlook, normal_between, surprises};
use crate::observe::Observations;
use crate::units::in_ranges;

/// Numbers of draws of the spreads, and of points for what a block may show.
#[derive(Clone, Copy)]
struct Samples {
    draws: usize,
    points: usize,
}

/// A test bounds the effect of using more.
const SAMPLES: Samples = Samples { draws: 128, points: 64 };

/// Plans to choose from, and the wanted swell.
#[derive(Clone, Copy, Debug)]
pub struct Choosing<'a> {
    pub plans: &'a [Plan],
    /// Lower end of the wanted swell, in per cent.
    pub low_percent: f64,
    /// Upper end of the wanted swell, in per cent.
    pub high_percent: f64,
}

/// The plans at each draw, with their fore-edges.
struct Scene<'a> {
    outlooks: &'a [Outlook],
    edges: &'a [Gaussian],
    /// The ends of the target, as ratios.
    bounds: (f64, f64),
}

/// A plan at one draw. For each end of the target: how many standard deviations it lies above the
/// mean, and how many standard deviations one millimetre is.
type Bounds = [(f64, f64); 2];

/// The chance of meeting the target once the mean has moved by `shift`.
fn chance([low, high]: &Bounds, shift: f64) -> f64 {
    let below = |(above, each): &(f64, f64)| normal_between(above - shift * each).0;
    below(high) - below(low)
}

impl Scene<'_> {
    /// The bounds of a plan whose swell is normal.
    fn bounds_of(&self, plan: usize, mean: f64, variance: f64) -> Bounds {
        let edge = self.edges[plan];
        [self.bounds.0, self.bounds.1].map(|ratio| {
            let each = (variance.max(0.0) + (ratio * edge.sd).powi(2)).sqrt().recip();
            ((ratio * edge.mean - mean) * each, each)
        })
    }

    /// Every plan at every draw, with these variances.
    fn plans(&self, variance: impl Fn(&Outlook, usize) -> f64) -> Vec<Vec<Bounds>> {
        let plans = 0..self.edges.len();
        let at = |outlook: &Outlook| {
            let of = |plan| self.bounds_of(plan, outlook.now[plan].0, variance(outlook, plan));
            plans.clone().map(of).collect()
        };
        self.outlooks.iter().map(at).collect()
    }

    /// The current chance of every plan.
    fn now(&self) -> Vec<f64> {
        let plans = self.plans(|outlook, plan| outlook.now[plan].1);
        let chances = |plan: usize| plans.iter().map(move |draw| chance(&draw[plan], 0.0));
        let average = |plan| chances(plan).sum::<f64>() / self.outlooks.len() as f64;
        (0..self.edges.len()).map(average).collect()
    }

    /// How far the best odds will be above those of the plan that is best now, on average over what
    /// a set may show. The variance that a set leaves does not depend on what it shows.
    fn gain(&self, set: usize, best: usize, surprises: &[Vec<f64>]) -> f64 {
        let plans = self.plans(|outlook, plan| outlook.after(plan, &outlook.moves[set]));
        let one = |shown: &Vec<f64>| {
            let mut sums = vec![0.0; self.edges.len()];
            let mut shifts = sums.clone();
            for (outlook, plans) in self.outlooks.iter().zip(&plans) {
                shifts.fill(0.0);
                for (moves, surprise) in outlook.moves[set].iter().zip(shown) {
                    shifts.iter_mut().zip(moves).for_each(|(shift, z)| *shift += z * surprise);
                }
                let each = sums.iter_mut().zip(plans).zip(&shifts);
                each.for_each(|((sum, plan), shift)| *sum += chance(plan, *shift));
            }
            let most = sums.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (most - sums[best]) / self.outlooks.len() as f64
        };
        surprises.iter().map(one).sum::<f64>() / surprises.len() as f64
    }
}

impl SwellFit {
    /// How much each of `blocks`, sewn and measured alone, raises the best odds among plans on
    /// average. What it shows may make another plan the best. The odds of an unchanged plan stay
    /// the same on average. Source: docs/model.md, "The next trial".
    pub fn odds_gained(
        &self,
        all: &Observations,
        choosing: Choosing<'_>,
        blocks: &[TrialBlock],
    ) -> Result<Vec<f64>, ModelError> {
        self.odds_gained_at(all, choosing, blocks, SAMPLES)
    }

    fn odds_gained_at(
        &self,
        all: &Observations,
        choosing: Choosing<'_>,
        blocks: &[TrialBlock],
        Samples { draws, points }: Samples,
    ) -> Result<Vec<f64>, ModelError> {
        let Some(plan) = choosing.plans.first() else { return Ok(vec![0.0; blocks.len()]) };
        let wondered = Wondered { all, plan, sewn: &[], others: blocks };
        let sets = self.asked(wondered)?.sets;
        let asked: Vec<_> = choosing.plans.iter().map(|plan| self.swell(plan)).collect();
        let edges: Vec<Gaussian> = choosing.plans.iter().map(|p| self.fore_edge(p)).collect();
        let outlooks = self.posterior.outlooks(&asked, &sets, draws);
        let bounds = (choosing.low_percent / 100.0, choosing.high_percent / 100.0);
        let scene = Scene { outlooks: &outlooks, edges: &edges, bounds };
        let now = scene.now();
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

    /// Before any trial, when most can be learnt.
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
        let gains = |samples| fit.odds_gained_at(&all, choosing, &blocks, samples).unwrap();
        let (few, many) = (gains(SAMPLES), gains(Samples { draws: 256, points: 512 }));
        for (few, many) in few.iter().zip(&many) {
            assert!((few - many).abs() < 0.01, "{few} {many}");
        }
        // More states of a longer block teach more.
        assert!(many[0] > 0.05 && many[1] > many[0] && many[2] > many[1], "{many:?}");
    }
}
