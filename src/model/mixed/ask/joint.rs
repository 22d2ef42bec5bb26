//! Means and covariances of several functionals together.

use super::asking::{Asking, new_variance};
use super::functional::Resolved;
use crate::model::mixed::Functional;
use crate::model::mixed::algebra::conditional::{Conditional, Solve};
use crate::model::mixed::algebra::lanes::{LANES, dots};
use crate::model::mixed::algebra::parallel::in_ranges;
use crate::model::mixed::fit::posterior::Posterior;

/// Mean and covariance of several numbers together.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    pub mean: Vec<f64>,
    /// Row by row.
    pub covariance: Vec<Vec<f64>>,
}

/// Means and covariances of eight draws side by side.
struct Group {
    means: Vec<[f64; LANES]>,
    covariances: Vec<Vec<[f64; LANES]>>,
}

impl Posterior {
    /// Mean and covariance of the functionals over all draws of the spreads: the covariance within
    /// a draw and that of the draws' means. What they draw anew is not shared between them.
    pub fn joint(&self, functionals: &[Functional]) -> Joint {
        let asked: Vec<_> = functionals.iter().map(|one| one.resolve(&self.layout)).collect();
        let groups = in_ranges(self.groups(), |range| {
            let (mut solve, mut asking) = (Solve::new(&self.layout), Asking::new(&self.layout));
            range.map(|at| Group::of(&mut asking, self.group(at, &mut solve), &asked)).collect()
        });
        let size = asked.len();
        let average = |value: &dyn Fn(&Group, usize) -> f64| -> f64 {
            let weights = self.weights.iter().enumerate();
            weights.map(|(draw, w)| w * value(&groups[draw / LANES], draw % LANES)).sum()
        };
        let mean: Vec<f64> =
            (0..size).map(|at| average(&|group, lane| group.means[at][lane])).collect();
        let mut covariance = vec![vec![0.0; size]; size];
        for at in 0..size {
            for to in 0..=at {
                let one = |group: &Group, lane: usize| {
                    let off = |at: usize| group.means[at][lane] - mean[at];
                    group.covariances[at][to][lane] + off(at) * off(to)
                };
                covariance[at][to] = average(&one);
                covariance[to][at] = covariance[at][to];
            }
        }
        Joint { mean, covariance }
    }
}

impl Group {
    fn of(asking: &mut Asking<'_, LANES>, system: &Conditional<LANES>, asked: &[Resolved]) -> Self {
        let (mut means, mut loaded) = (Vec::new(), Vec::new());
        for one in asked {
            means.push(asking.load(system, one));
            loaded.push(asking.c.clone());
        }
        let row = |at: usize| {
            let mut row: Vec<_> = (0..=at).map(|to| dots(&loaded[at], &loaded[to])).collect();
            let new = new_variance(system, &asked[at]);
            row[at].iter_mut().zip(new).for_each(|(variance, new)| *variance += new);
            row
        };
        let covariances = (0..asked.len()).map(row).collect();
        Self { means, covariances }
    }
}
