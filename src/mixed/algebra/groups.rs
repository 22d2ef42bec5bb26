//! Solves draws of the spreads on all cores.

use super::conditional::Solve;
use super::lanes::{LANES, side_by_side};
use super::layout::Layout;
use crate::parallel::in_ranges_of_long;

/// Solves the draws of the spreads in groups of eight side by side, and collects the result of `of`
/// for each group.
pub(crate) fn in_groups<T: Send>(
    layout: &Layout,
    theta: &[Vec<f64>],
    of: impl Fn(&mut Solve<'_, LANES>, [f64; LANES]) -> T + Sync,
) -> Vec<T> {
    in_ranges_of_long(theta.len().div_ceil(LANES), |range| {
        let mut solve = Solve::new(layout);
        let end = theta.len().min(range.end * LANES);
        let one = |group: &[Vec<f64>]| {
            let likelihoods = solve.side_by_side(&side_by_side(group));
            of(&mut solve, likelihoods)
        };
        theta[range.start * LANES..end].chunks(LANES).map(one).collect()
    })
}
