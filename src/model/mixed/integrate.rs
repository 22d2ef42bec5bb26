//! Integration over the spreads by importance sampling.

use super::conditional::{Conditional, Solve};
use super::layout::Layout;
use super::mode::{LogPosterior, Mode, log_posterior, spreads_at};
use super::parallel::in_ranges;
use super::proposal::{Folded, Margin, Point, Proposal};
use super::stein::{Balanced, balanced};
use super::trust::{Trust, effective, normalise};
use super::{MixedError, MixedValidParams, SpreadPrior};

/// Draws that only steer the others.
const STEERING: usize = 64;
/// Times that they are made at most, where they fall beside the posterior.
const MOST_STEERING: usize = 8;
/// The share of them that counts once the proposal is well placed.
const WELL_PLACED: f64 = 0.4;
/// How much wider than the posterior the proposal is made.
const WIDENED: f64 = 1.05;
/// Draws that must count before their moments are followed.
const ENOUGH_TO_STEER: f64 = 16.0;
/// Numbers kept in solved systems at most (64 MB); beyond it they are solved again when asked.
pub(super) const MOST_KEPT: usize = 8_000_000;

/// Weighted draws of the spreads.
#[derive(Clone, Debug)]
pub(super) struct Draws {
    pub theta: Vec<Vec<f64>>,
    /// The solved system of each draw, where they are few enough to keep.
    pub solved: Option<Vec<Conditional>>,
    pub weights: Vec<f64>,
    /// The weights before they were corrected.
    pub raw: Vec<f64>,
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
        let (theta, raw) = (vec![Vec::new()], vec![1.0]);
        let (trust, weights) = (Trust::of(&raw), raw.clone());
        return Ok(Draws { theta, solved: None, weights, raw, trust, evaluations: 0 });
    }
    let near = mode.x.iter().zip(&mode.widths);
    let margins = near.zip(&layout.priors).map(|((&centre, &scale), &prior)| {
        Margin::new(Folded { centre, scale }, prior)
    });
    let mut proposal = Proposal::apart(margins.collect());
    let mut count = params.draws_for(layout.rows);
    let most = params.most_draws(layout.rows);
    let mut evaluations = steer(layout, &mut proposal);
    loop {
        let round = Round::new(layout, &proposal, count);
        evaluations += count;
        let trust = Trust::of(&round.weights);
        let Balanced { weights, change } = round.balanced(layout);
        if params.suffices(&trust, change, layout.rows) || count >= most {
            params.check_trust(&trust, count, layout.rows)?;
            let theta = round.points.iter().map(|point| spreads_at(layout, &point.x)).collect();
            let (solved, raw) = (round.solved, round.weights);
            return Ok(Draws { theta, solved, weights, raw, trust, evaluations });
        }
        proposal = refined(layout, &round.points, &weights);
        count *= 2;
    }
}

/// Moves the proposal to where the posterior is, by few draws; gives how many were made.
fn steer(layout: &Layout, proposal: &mut Proposal) -> usize {
    for times in 1..=MOST_STEERING {
        let round = Round::new(layout, proposal, STEERING);
        let count = effective(&round.weights);
        let placed = count >= WELL_PLACED * STEERING as f64;
        let follow = count >= ENOUGH_TO_STEER;
        let weights = if follow { round.balanced(layout).weights } else { evened(&round.weights) };
        *proposal = refined(layout, &round.points, &weights);
        if placed {
            return times * STEERING;
        }
    }
    MOST_STEERING * STEERING
}

/// One round of draws.
struct Round {
    points: Vec<Point>,
    slopes: Vec<Vec<f64>>,
    weights: Vec<f64>,
    solved: Option<Vec<Conditional>>,
}

impl Round {
    /// The first `count` points of a proposal with normalised weights and, where they are not too
    /// many to keep, what was solved.
    fn new(layout: &Layout, from: &Proposal, count: usize) -> Self {
        let points = from.points(count);
        let keep = keeps(layout, count);
        let each = in_ranges(count, |range| {
            let mut solve = Solve::new(layout);
            let mut one = |point: &Point| {
                let LogPosterior { value, slopes } = log_posterior(layout, &mut solve, &point.x);
                (value - point.log_density, slopes, keep.then(|| solve.system.clone()))
            };
            points[range].iter().map(&mut one).collect()
        });
        let (mut logs, mut slopes, mut solved) = (Vec::new(), Vec::new(), Vec::new());
        for (log, slope, system) in each {
            logs.push(log);
            slopes.push(slope);
            solved.push(system);
        }
        Self { points, slopes, weights: normalised(&logs), solved: solved.into_iter().collect() }
    }

    fn balanced(&self, layout: &Layout) -> Balanced {
        let points: Vec<&[f64]> = self.points.iter().map(|point| &point.x[..]).collect();
        balanced(&points, &self.slopes, self.weights.clone(), bounded(&layout.priors))
    }
}

/// Whether the solved systems of so many draws are kept.
pub(super) fn keeps(layout: &Layout, draws: usize) -> bool {
    draws * layout.envelope.len() <= MOST_KEPT
}

/// Whether the beliefs bound the spreads' tails.
pub(super) fn bounded(priors: &[SpreadPrior]) -> bool {
    priors.iter().all(|prior| matches!(prior, SpreadPrior::HalfNormal(_)))
}

pub(super) fn normalised(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut weights: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    normalise(&mut weights);
    weights
}

/// A proposal with the moments and most of the correlations of weighted points.
fn refined(layout: &Layout, points: &[Point], weights: &[f64]) -> Proposal {
    let margin = |(k, &prior): (usize, &SpreadPrior)| {
        let moment = |f: &dyn Fn(f64) -> f64| -> f64 {
            points.iter().zip(weights).map(|(point, w)| w * f(point.x[k])).sum()
        };
        let mean = moment(&|x| x);
        let variance = moment(&|x| (x - mean) * (x - mean));
        Margin::new(Folded::with(mean, WIDENED * variance.sqrt()), prior)
    };
    let margins = layout.priors.iter().enumerate().map(margin).collect();
    Proposal::joined(margins, points, weights)
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
        normalise(&mut raised);
    }
    raised
}
