//! Integration over the spreads by importance sampling.

use super::conditional::{Conditional, Solve};
use super::lanes::{LANES, side_by_side};
use super::layout::Layout;
use super::mode::{Mode, log_beliefs, spreads_at};
use super::parallel::in_ranges;
use super::proposal::{FoldedT, Proposal};
use super::trust::{Trust, effective};
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
/// Added to every scale, so that none collapses: so much, but of a sharp one only a share of it.
const LEAST_WIDENING: f64 = 0.01;
const SHARE_WIDENING: f64 = 0.2;
/// Draws that must count before their moments are followed.
const ENOUGH_TO_STEER: f64 = 40.0;
/// Numbers kept in solved systems at most (64 MB); beyond it they are solved again when asked.
pub(super) const MOST_KEPT: usize = 8_000_000;

/// Weighted draws of the spreads.
#[derive(Clone, Debug)]
pub(super) struct Draws {
    pub theta: Vec<Vec<f64>>,
    /// The solved systems, eight draws side by side, where they are few enough to keep.
    pub solved: Option<Vec<Conditional<LANES>>>,
    pub weights: Vec<f64>,
    pub trust: Trust,
    pub evaluations: usize,
}

/// Draws the spreads from their posterior.
///
/// # Errors
/// [`MixedError::FewDraws`] when even the most draws cannot be trusted.
pub(super) fn integrate(
    layout: &Layout,
    mode: &Mode,
    params: &MixedValidParams,
) -> Result<Draws, MixedError> {
    if mode.x.is_empty() {
        let (theta, weights) = (vec![Vec::new()], vec![1.0]);
        let trust = Trust::of(&weights);
        return Ok(Draws { theta, solved: None, weights, trust, evaluations: 0 });
    }
    let near = mode.x.iter().zip(&mode.widths);
    let near = near.map(|(&centre, &scale)| FoldedT { centre, scale }).collect();
    let mut proposal = Proposal::new(near, &layout.priors);
    let mut count = params.draws_for(layout.rows);
    let most = params.most_draws(layout.rows);
    let mut evaluations = steer(layout, &mut proposal, count);
    loop {
        let points = proposal.points(count);
        let keep = points.len() * layout.envelope.len() <= MOST_KEPT;
        let Round { points, weights, solved } = Round::new(layout, &proposal, points, keep);
        evaluations += points.len();
        let trust = Trust::of(&weights);
        if params.suffices(&trust, layout.rows) || count >= most {
            params.check_trust(&trust, points.len())?;
            let theta = points.iter().map(|x| spreads_at(layout, x)).collect();
            return Ok(Draws { theta, solved, weights, trust, evaluations });
        }
        refine(&mut proposal, &points, &weights);
        count *= 2;
    }
}

/// Moves the proposal to where the posterior is, by few draws; gives how many were made.
fn steer(layout: &Layout, proposal: &mut Proposal, count: usize) -> usize {
    let steering = (count / STEERING_SHARE).max(FEWEST_STEERING);
    let mut evaluations = 0;
    for refinement in 1..=MOST_REFINEMENTS {
        let round = Round::new(layout, proposal, proposal.points(steering), false);
        evaluations += round.points.len();
        refine(proposal, &round.points, &round.weights);
        let well_placed = effective(&round.weights) >= WELL_PLACED * steering as f64;
        if refinement >= REFINEMENTS && well_placed {
            break;
        }
    }
    evaluations
}

/// One round of draws.
struct Round {
    points: Vec<Vec<f64>>,
    weights: Vec<f64>,
    solved: Option<Vec<Conditional<LANES>>>,
}

impl Round {
    /// Normalised weights of the points of a proposal and, when asked, what was solved.
    fn new(layout: &Layout, from: &Proposal, points: Vec<Vec<f64>>, keep: bool) -> Self {
        let theta: Vec<_> = points.iter().map(|x| spreads_at(layout, x)).collect();
        let solved = in_ranges(theta.len().div_ceil(LANES), |range| {
            let mut solve = Solve::new(layout);
            let mut one = |group: &[Vec<f64>]| {
                let likelihood = solve.side_by_side(&side_by_side(group));
                (likelihood, keep.then(|| solve.system.clone()))
            };
            let end = theta.len().min(range.end * LANES);
            theta[range.start * LANES..end].chunks(LANES).map(&mut one).collect()
        });
        let (likelihoods, solved): (Vec<_>, Vec<_>) = solved.into_iter().unzip();
        let likelihoods = likelihoods.as_flattened();
        let log = |(x, likelihood): (&Vec<f64>, &f64)| {
            likelihood + log_beliefs(layout, x) - from.log_density(x)
        };
        let logs: Vec<f64> = points.iter().zip(likelihoods).map(log).collect();
        Self { points, weights: normalised(&logs), solved: solved.into_iter().collect() }
    }
}

pub(super) fn normalised(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|weight| weight / sum).collect()
}

/// Moves each proposal to the weighted mean and standard deviation of the points.
///
/// Where few points carry the weight their moments say little, and proposals that followed them
/// would collapse onto one point: the weights are evened out first.
fn refine(proposal: &mut Proposal, points: &[Vec<f64>], weights: &[f64]) {
    let weights = evened(weights);
    for (k, proposal) in proposal.near.iter_mut().enumerate() {
        let moment = |f: &dyn Fn(f64) -> f64| -> f64 {
            points.iter().zip(&weights).map(|(x, w)| w * f(x[k])).sum()
        };
        let centre = moment(&|x| x);
        let variance = moment(&|x| (x - centre) * (x - centre));
        let sd = variance.sqrt();
        *proposal = FoldedT { centre, scale: sd + LEAST_WIDENING.min(SHARE_WIDENING * sd) };
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
