//! Integration over the spreads by importance sampling.

use super::mode::{Mode, log_beliefs, spreads_at};
use super::params::Settled;
use super::proposal::{Proposal, moments};
use super::stein::{Balanced, balanced};
use super::trust::{Trust, effective};
use crate::model::mixed::algebra::conditional::{Conditional, Solve};
use crate::model::mixed::algebra::lanes::{LANES, side_by_side};
use crate::model::mixed::algebra::layout::Layout;
use crate::model::mixed::{MixedError, MixedValidParams};
use crate::units::in_ranges;
use std::ops::RangeInclusive;

/// Draws that only steer the others.
const STEERING: usize = 64;
/// Times that they are made at most, where they fall beside the posterior.
const MOST_STEERING: usize = 8;
/// The share of them that counts once the proposal is well placed.
const WELL_PLACED: f64 = 0.4;
/// Draws made for what is asked of the spreads alone, and the rows that all of them solve together.
const SPREAD_DRAWS: RangeInclusive<usize> = 256..=8_192;
const SPREAD_ROWS: usize = 400_000;
/// Corrections are made where they are no larger than this.
const MOST_CHANGE: f64 = 0.3;
/// Draws that must count before their moments are followed.
const ENOUGH_TO_STEER: f64 = 16.0;
/// Numbers kept in solved systems at most (64 MB); beyond it they are solved again when asked.
pub(crate) const MOST_KEPT: usize = 8_000_000;

/// Weighted draws of the spreads.
#[derive(Clone, Debug)]
pub(crate) struct Draws {
    pub theta: Vec<Vec<f64>>,
    /// The solved systems, eight draws side by side, where they are few enough to keep.
    pub solved: Option<Vec<Conditional<LANES>>>,
    pub weights: Vec<f64>,
    /// Where they came from.
    pub proposal: Proposal,
    pub trust: Trust,
    pub evaluations: usize,
}

/// Draws the spreads from their posterior.
///
/// # Errors
/// [`MixedError::FewDraws`] when even the most draws cannot be trusted.
pub(crate) fn integrate(
    layout: &Layout,
    mode: &Mode,
    params: &MixedValidParams,
) -> Result<Draws, MixedError> {
    let near = mode.x.iter().copied().zip(mode.widths.iter().copied());
    let mut proposal = Proposal::new(near, layout);
    if mode.x.is_empty() {
        let (theta, weights) = (vec![Vec::new()], vec![1.0]);
        let trust = Trust::of(&weights);
        return Ok(Draws { theta, solved: None, weights, proposal, trust, evaluations: 0 });
    }
    let mut count = params.first_draws();
    let most = params.most_draws();
    let mut evaluations = steer(layout, &mut proposal);
    loop {
        let points = proposal.points(count);
        let keep = points.len() * layout.envelope.len() <= MOST_KEPT;
        let round = Round::new(layout, &proposal, points, keep);
        evaluations += round.points.len();
        let trust = Trust::of(&round.weights);
        let Balanced { weights, change } = round.balanced(layout);
        let weights = round.trusted(weights, change);
        let settled = Settled { change, error: round.deviation_error(&weights) };
        if params.suffices(&trust, settled, layout.rows) || count >= most {
            params.check_trust(&trust, round.points.len())?;
            let theta = spreads_of(layout, &round.points);
            let solved = round.solved;
            return Ok(Draws { theta, solved, weights, proposal, trust, evaluations });
        }
        proposal.follow(&round.points, &weights);
        count *= 2;
    }
}

/// Moves the proposal to where the posterior is, by few draws; gives how many were made.
fn steer(layout: &Layout, proposal: &mut Proposal) -> usize {
    let mut evaluations = 0;
    for _ in 0..MOST_STEERING {
        let round = Round::new(layout, proposal, proposal.points(STEERING), false);
        evaluations += round.points.len();
        let count = effective(&round.weights);
        if count >= ENOUGH_TO_STEER {
            let Balanced { weights, change } = round.balanced(layout);
            proposal.follow(&round.points, &round.trusted(weights, change));
        } else {
            proposal.follow(&round.points, &evened(&round.weights));
        }
        if count >= WELL_PLACED * STEERING as f64 {
            break;
        }
    }
    evaluations
}

struct Round {
    points: Vec<Vec<f64>>,
    weights: Vec<f64>,
    /// `x·∂/∂x` of the log posterior for every spread.
    slopes: Vec<Vec<f64>>,
    solved: Option<Vec<Conditional<LANES>>>,
}

/// What eight draws side by side gave.
struct Group {
    likelihoods: [f64; LANES],
    slopes: Vec<[f64; LANES]>,
    solved: Option<Conditional<LANES>>,
}

impl Round {
    /// Normalised weights of the points of a proposal and what was solved.
    fn new(layout: &Layout, from: &Proposal, points: Vec<Vec<f64>>, keep: bool) -> Self {
        let groups = in_groups(layout, &spreads_of(layout, &points), |solve, likelihoods| {
            let (slopes, solved) = (solve.slopes(), keep.then(|| solve.system.clone()));
            Group { likelihoods, slopes, solved }
        });
        let likelihoods = groups.iter().flat_map(|group| group.likelihoods);
        let weights = weights_of(layout, from, &points, likelihoods);
        let slopes = points.iter().enumerate().map(|(draw, x)| {
            let data = groups[draw / LANES].slopes.iter().map(|slope| slope[draw % LANES]);
            let both = data.zip(&layout.priors).zip(x);
            both.map(|((data, prior), &x)| data + prior.slope(x)).collect()
        });
        let slopes = slopes.collect();
        let solved = groups.into_iter().map(|group| group.solved).collect();
        Self { points, weights, slopes, solved }
    }

    /// The largest standard error, as a share, that a spread's standard deviation would have were
    /// the draws random ones: the more a spread's tail carries, the larger it is.
    fn deviation_error(&self, weights: &[f64]) -> f64 {
        let each = moments(&self.points, weights).into_iter().enumerate().map(|(k, (mean, sd))| {
            let off = |(x, weight): (&Vec<f64>, &f64)| {
                (weight * (((x[k] - mean) / sd).powi(2) - 1.0)).powi(2)
            };
            0.5 * self.points.iter().zip(weights).map(off).sum::<f64>().sqrt()
        });
        each.fold(0.0, f64::max)
    }

    /// The corrected weights, unless they were corrected so much that few points swing about.
    fn trusted(&self, corrected: Vec<f64>, change: f64) -> Vec<f64> {
        if change <= MOST_CHANGE { corrected } else { self.weights.clone() }
    }

    fn balanced(&self, layout: &Layout) -> Balanced {
        let bounded = layout.priors.iter().all(|prior| prior.is_proper());
        balanced(&self.points, &self.slopes, &self.weights, bounded)
    }
}

/// What `of` gives of every eight draws of the spreads, solved side by side.
pub(crate) fn in_groups<T: Send>(
    layout: &Layout,
    theta: &[Vec<f64>],
    of: impl Fn(&mut Solve<'_, LANES>, [f64; LANES]) -> T + Sync,
) -> Vec<T> {
    in_ranges(theta.len().div_ceil(LANES), |range| {
        let mut solve = Solve::new(layout);
        let end = theta.len().min(range.end * LANES);
        let one = |group: &[Vec<f64>]| {
            let likelihoods = solve.side_by_side(&side_by_side(group));
            of(&mut solve, likelihoods)
        };
        theta[range.start * LANES..end].chunks(LANES).map(one).collect()
    })
}

/// The spreads at each of these points.
fn spreads_of(layout: &Layout, points: &[Vec<f64>]) -> Vec<Vec<f64>> {
    points.iter().map(|x| spreads_at(layout, x)).collect()
}

/// Normalised weights of points with these likelihoods.
fn weights_of(
    layout: &Layout,
    from: &Proposal,
    points: &[Vec<f64>],
    likelihoods: impl Iterator<Item = f64>,
) -> Vec<f64> {
    let log = |(x, likelihood): (&Vec<f64>, f64)| {
        likelihood + log_beliefs(layout, x) - from.log_density(x)
    };
    normalised(&points.iter().zip(likelihoods).map(log).collect::<Vec<_>>())
}

/// Draws of the spreads alone, with their weights.
#[derive(Clone, Debug)]
pub(crate) struct SpreadDraws {
    pub theta: Vec<Vec<f64>>,
    pub weights: Vec<f64>,
}

/// So many draws of the spreads are worth their solves where they alone are asked for: a share
/// beyond a bound takes many more than an average does.
pub(crate) fn affordable_spread_draws(rows: usize) -> usize {
    let affordable = SPREAD_ROWS / rows.max(1);
    1 << affordable.clamp(*SPREAD_DRAWS.start(), *SPREAD_DRAWS.end()).ilog2()
}

/// Draws of the spreads alone: each costs a solve and nothing else.
pub(crate) fn spread_draws(layout: &Layout, from: &Proposal, count: usize) -> SpreadDraws {
    let points = from.points(count);
    let theta = spreads_of(layout, &points);
    let likelihoods = in_groups(layout, &theta, |_, likelihoods| likelihoods);
    let weights = weights_of(layout, from, &points, likelihoods.into_iter().flatten());
    SpreadDraws { theta, weights }
}

pub(crate) fn normalised(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|weight| weight / sum).collect()
}

/// The weights to the greatest power, at most one, at which enough of them count: where few
/// points carry the weight their moments say little, and a proposal that followed them would
/// collapse onto one point.
fn evened(weights: &[f64]) -> Vec<f64> {
    let mut power = 1.0;
    let mut raised = weights.to_vec();
    while effective(&raised) < ENOUGH_TO_STEER {
        power *= 0.5;
        raised = weights.iter().map(|weight| weight.powf(power)).collect();
        let sum: f64 = raised.iter().sum();
        raised.iter_mut().for_each(|weight| *weight /= sum);
    }
    raised
}
