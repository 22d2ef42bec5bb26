//! Joint means and covariances of several functionals.

use super::asking::{Asking, new_variance};
use super::functional::{Resolved, Together};
use crate::Functional;
use crate::algebra::conditional::Conditional;
use crate::algebra::lanes::{LANES, dots};
use crate::fit::posterior::Posterior;

/// Joint mean and covariance of several numbers, which are normal at one draw of the spreads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint<const N: usize> {
    /// The weight of the draw. The weights sum to one.
    pub weight: f64,
    pub mean: [f64; N],
    pub covariance: [[f64; N]; N],
}

impl Posterior {
    /// Joint mean and covariance of the functionals at each draw of the spreads. New draws are not
    /// shared between functionals.
    pub fn together<const N: usize>(&self, functionals: &[Functional; N]) -> Vec<Joint<N>> {
        let mut together = Together::new();
        let asked = functionals.each_ref().map(|one| one.resolve_with(&self.layout, &mut together));
        let groups = self.of_groups(|system, asking| group(asking, system, &asked));
        let each = groups.into_iter().flatten().zip(self.weights.iter());
        each.map(|(joint, &weight)| Joint { weight, ..joint }).collect()
    }
}

/// The joint moments at eight draws, side by side.
fn group<const N: usize>(
    asking: &mut Asking<'_, LANES>,
    system: &Conditional<LANES>,
    asked: &[Resolved; N],
) -> [Joint<N>; LANES] {
    let loaded = asked.each_ref().map(|one| (asking.load(system, one), asking.c.clone()));
    let empty = Joint { weight: 0.0, mean: [0.0; N], covariance: [[0.0; N]; N] };
    let mut joints = [empty; LANES];
    for (at, (mean, c)) in loaded.iter().enumerate() {
        let new = new_variance(&system.squares, &asked[at]);
        (0..LANES).for_each(|lane| joints[lane].mean[at] = mean[lane]);
        for (to, (_, other)) in loaded.iter().enumerate().take(at + 1) {
            let both = dots(c, other);
            for (lane, joint) in joints.iter_mut().enumerate() {
                let covariance = both[lane] + if at == to { new[lane] } else { 0.0 };
                joint.covariance[at][to] = covariance;
                joint.covariance[to][at] = covariance;
            }
        }
    }
    joints
}
