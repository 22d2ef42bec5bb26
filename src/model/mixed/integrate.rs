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
/// And at most, where the draws still fall beside the posterior.
const MOST_REFINEMENTS: usize = 8;
/// The share of the steering draws that count once the proposals are well placed.
const WELL_PLACED: f64 = 0.2;
/// Added to every scale, so that none collapses.
const LEAST_WIDENING: f64 = 0.01;
/// More draws than this are never made.
const MOST_DRAWS: usize = 8_192;
/// Draws that must count before their moments are followed.
const ENOUGH_TO_STEER: f64 = 40.0;
/// Numbers kept in solved systems at most (64 MB); beyond it they are solved again when asked.
const MOST_KEPT: usize = 8_000_000;

/// Weighted draws of the spreads.
#[derive(Clone, Debug)]
pub(super) struct Draws {
    pub theta: Vec<Vec<f64>>,
    /// The solved system of each draw, where they are few enough to keep.
    pub solved: Option<Vec<Conditional>>,
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
        let effective = f64::INFINITY;
        return Ok(Draws { theta, solved: None, weights, effective, evaluations: 0 });
    }
    let mut count = params.draws_for(layout.rows);
    let minimum = params.minimum();
    let mut proposals: Vec<FoldedT> = (mode.x.iter().zip(&mode.widths))
        .map(|(&centre, &scale)| FoldedT { centre, scale })
        .collect();
    let mut evaluations = 0;
    let steering = standard_draws((count / STEERING_SHARE).max(FEWEST_STEERING), proposals.len());
    for refinement in 1..=MOST_REFINEMENTS {
        let round = Round::new(layout, &proposals, &steering, false);
        evaluations += steering.len();
        refine(&mut proposals, &round.points, &round.weights);
        let well_placed = effective(&round.weights) >= WELL_PLACED * steering.len() as f64;
        if refinement >= REFINEMENTS && well_placed {
            break;
        }
    }
    let mut standard = standard_draws(count, proposals.len());
    loop {
        let keep = count * layout.envelope.len() <= MOST_KEPT;
        let Round { points, weights, solved } = Round::new(layout, &proposals, &standard, keep);
        evaluations += count;
        let effective = effective(&weights);
        if effective >= minimum {
            let theta = points.iter().map(|x| spreads_at(layout, x)).collect();
            return Ok(Draws { theta, solved, weights, effective, evaluations });
        }
        if count >= MOST_DRAWS {
            return Err(MixedError::FewDraws { effective, draws: count, wanted: minimum });
        }
        refine(&mut proposals, &points, &weights);
        count *= 2;
        standard = standard_draws(count, proposals.len());
    }
}

/// One round of draws.
struct Round {
    points: Vec<Vec<f64>>,
    weights: Vec<f64>,
    solved: Option<Vec<Conditional>>,
}

impl Round {
    /// The points at these proposals, their normalised weights and, when asked, what was solved.
    fn new(layout: &Layout, from: &[FoldedT], standard: &[Vec<f64>], keep: bool) -> Self {
        let at = |t: &Vec<f64>| from.iter().zip(t).map(|(one, &t)| one.at(t)).collect();
        let points: Vec<Vec<f64>> = standard.iter().map(at).collect();
        let each = in_ranges(points.len(), |range| {
            let mut work = Conditional::new(layout);
            let mut one = |x: &Vec<f64>| {
                let log = log_weight(layout, from, &mut work, x);
                (log, keep.then(|| work.clone()))
            };
            points[range].iter().map(&mut one).collect()
        });
        let (logs, solved): (Vec<f64>, Vec<Option<Conditional>>) = each.into_iter().unzip();
        Self { points, weights: normalised(&logs), solved: solved.into_iter().collect() }
    }
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
///
/// Where few points carry the weight their moments say little, and proposals that followed them
/// would collapse onto one point: the weights are evened out first.
fn refine(proposals: &mut [FoldedT], points: &[Vec<f64>], weights: &[f64]) {
    let weights = evened(weights);
    for (k, proposal) in proposals.iter_mut().enumerate() {
        let moment = |f: &dyn Fn(f64) -> f64| -> f64 {
            points.iter().zip(&weights).map(|(x, w)| w * f(x[k])).sum()
        };
        let centre = moment(&|x| x);
        let variance = moment(&|x| (x - centre) * (x - centre));
        *proposal = FoldedT { centre, scale: variance.sqrt() + LEAST_WIDENING };
    }
}

/// The weights to the greatest power, at most one, at which enough of them count.
fn evened(weights: &[f64]) -> Vec<f64> {
    let enough = ENOUGH_TO_STEER.min(weights.len() as f64 / 4.0);
    let mut power = 1.0;
    let mut raised = weights.to_vec();
    while effective(&raised) < enough {
        power *= 0.5;
        raised = weights.iter().map(|weight| weight.powf(power)).collect();
        let sum: f64 = raised.iter().sum();
        raised.iter_mut().for_each(|weight| *weight /= sum);
    }
    raised
}

/// How many of the normalised weights count: `1/Σw²`.
fn effective(weights: &[f64]) -> f64 {
    weights.iter().map(|w| w * w).sum::<f64>().recip()
}
