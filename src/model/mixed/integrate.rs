//! Integration over the spreads by importance sampling.

use super::conditional::Conditional;
use super::layout::Layout;
use super::mode::{Mode, log_posterior, spreads_at};
use super::parallel::in_ranges;
use super::proposal::{FoldedT, standard_draws};
use super::{MixedError, MixedValidParams};

/// Share of the draws that the refinements make do with: they only steer the last round.
const STEERING_SHARE: usize = 4;
/// And the fewest that can steer.
const FEWEST_STEERING: usize = 16;
/// Times the proposal is re-centred and re-scaled.
const REFINEMENTS: usize = 2;
/// Added to every scale, so that none collapses.
const LEAST_WIDENING: f64 = 0.01;
/// More draws than this are never made.
const MOST_DRAWS: usize = 8_192;

/// Weighted draws of the spreads.
#[derive(Clone, Debug)]
pub(super) struct Draws {
    pub theta: Vec<Vec<f64>>,
    pub weights: Vec<f64>,
    pub effective: f64,
    pub evaluations: usize,
}

/// Draws the spreads from their posterior.
///
/// # Errors
/// [`MixedError::FewDraws`] when even the most draws leave too few that count.
pub(super) fn integrate(
    layout: &Layout,
    mode: &Mode,
    params: &MixedValidParams,
) -> Result<Draws, MixedError> {
    if mode.x.is_empty() {
        let (theta, weights) = (vec![Vec::new()], vec![1.0]);
        return Ok(Draws { theta, weights, effective: f64::INFINITY, evaluations: 0 });
    }
    let mut count = params.draws_for(layout.rows);
    let minimum = params.minimum();
    let mut proposals: Vec<FoldedT> = (mode.x.iter().zip(&mode.widths))
        .map(|(&centre, &scale)| FoldedT { centre, scale })
        .collect();
    let mut evaluations = 0;
    let steering = standard_draws((count / STEERING_SHARE).max(FEWEST_STEERING), proposals.len());
    for _ in 0..REFINEMENTS {
        let (points, weights) = round(layout, &proposals, &steering);
        evaluations += steering.len();
        refine(&mut proposals, &points, &weights);
    }
    let mut standard = standard_draws(count, proposals.len());
    loop {
        let (points, weights) = round(layout, &proposals, &standard);
        evaluations += count;
        let effective = weights.iter().map(|w| w * w).sum::<f64>().recip();
        if effective >= minimum {
            let theta = points.iter().map(|x| spreads_at(layout, x)).collect();
            return Ok(Draws { theta, weights, effective, evaluations });
        }
        if count >= MOST_DRAWS {
            return Err(MixedError::FewDraws { effective, draws: count, wanted: minimum });
        }
        refine(&mut proposals, &points, &weights);
        count *= 2;
        standard = standard_draws(count, proposals.len());
    }
}

/// One round: the points at these proposals and their normalised weights.
fn round(
    layout: &Layout,
    proposals: &[FoldedT],
    standard: &[Vec<f64>],
) -> (Vec<Vec<f64>>, Vec<f64>) {
    let points: Vec<Vec<f64>> = standard
        .iter()
        .map(|t| proposals.iter().zip(t).map(|(proposal, &t)| proposal.at(t)).collect())
        .collect();
    let logs = in_ranges(points.len(), |range| {
        let mut work = Conditional::new(layout);
        points[range].iter().map(|x| log_weight(layout, proposals, &mut work, x)).collect()
    });
    (points, normalised(&logs))
}

fn log_weight(layout: &Layout, from: &[FoldedT], work: &mut Conditional, x: &[f64]) -> f64 {
    let proposed: f64 = from.iter().zip(x).map(|(proposal, &x)| proposal.log_density(x)).sum();
    log_posterior(layout, work, x) - proposed
}

fn normalised(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|weight| weight / sum).collect()
}

/// Moves each proposal to the weighted mean and standard deviation of the points.
fn refine(proposals: &mut [FoldedT], points: &[Vec<f64>], weights: &[f64]) {
    for (k, proposal) in proposals.iter_mut().enumerate() {
        let moment = |f: &dyn Fn(f64) -> f64| -> f64 {
            points.iter().zip(weights).map(|(x, w)| w * f(x[k])).sum()
        };
        let centre = moment(&|x| x);
        let variance = moment(&|x| (x - centre) * (x - centre));
        *proposal = FoldedT { centre, scale: variance.sqrt() + LEAST_WIDENING };
    }
}
