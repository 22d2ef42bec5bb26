//! Integration over the spreads by importance sampling.

use super::mode::{Mode, log_beliefs, spreads_at};
use super::params::Settled;
use super::proposal::Proposal;
use super::stein::{Balanced, balanced};
use super::trust::{Trust, effective};
use crate::model::mixed::algebra::conditional::{Conditional, Solve};
use crate::model::mixed::algebra::lanes::{LANES, side_by_side};
use crate::model::mixed::algebra::layout::Layout;
use crate::model::mixed::{MixedError, MixedValidParams};
use crate::units::in_ranges;
use std::ops::{Range, RangeInclusive};

/// Draws that steer the others.
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
    let most = params.most_draws();
    let (steering, mut evaluations) = steer(layout, &mut proposal);
    let mut drawn = if params.keeps_steering() { steering } else { Drawn::default() };
    let mut count = params.first_draws();
    loop {
        drawn.add(layout, &proposal, 3 * count..4 * count);
        evaluations += count;
        let plain = drawn.weights();
        let trust = Trust::of(&plain);
        let Balanced { weights, change, error } = drawn.corrected(layout, plain);
        if params.suffices(&trust, Settled { change, error }, layout.rows) || count >= most {
            params.check_trust(&trust, drawn.points.len())?;
            let theta = spreads_of(layout, &drawn.points);
            let solved = drawn.solved;
            return Ok(Draws { theta, solved, weights, proposal, trust, evaluations });
        }
        proposal.follow(&drawn.points, &weights);
        count *= 2;
    }
}

/// Moves the proposal to where the posterior is, by few draws; gives the last of them and how many
/// were made.
fn steer(layout: &Layout, proposal: &mut Proposal) -> (Drawn, usize) {
    let mut times = 0;
    loop {
        times += 1;
        let mut drawn = Drawn::default();
        drawn.add(layout, proposal, 0..STEERING);
        let plain = drawn.weights();
        let count = effective(&plain);
        let enough = count >= ENOUGH_TO_STEER;
        let weights = if enough { drawn.corrected(layout, plain).weights } else { evened(&plain) };
        proposal.follow(&drawn.points, &weights);
        if count >= WELL_PLACED * STEERING as f64 || times == MOST_STEERING {
            return (drawn, times * STEERING);
        }
    }
}

/// Points drawn from one proposal after the other.
struct Drawn {
    points: Vec<Vec<f64>>,
    /// The log posterior at each, up to a constant.
    logs: Vec<f64>,
    /// `x·∂/∂x` of it for every spread.
    slopes: Vec<Vec<f64>>,
    /// What was solved, eight side by side, as long as that is little enough to keep.
    solved: Option<Vec<Conditional<LANES>>>,
    /// The proposals, each with the number of points from it.
    from: Vec<(Proposal, usize)>,
}

/// What eight draws side by side gave.
struct Group {
    likelihoods: [f64; LANES],
    slopes: Vec<[f64; LANES]>,
    solved: Option<Conditional<LANES>>,
}

impl Default for Drawn {
    fn default() -> Self {
        let (points, logs, slopes) = Default::default();
        Self { points, logs, slopes, solved: Some(Vec::new()), from: Vec::new() }
    }
}

impl Drawn {
    /// Adds points of a proposal: these of its sequence.
    fn add(&mut self, layout: &Layout, from: &Proposal, which: Range<usize>) {
        self.from.push((from.clone(), which.len()));
        let points = from.points(which);
        let all = self.points.len() + points.len();
        let keep = self.solved.is_some() && all * layout.envelope.len() <= MOST_KEPT;
        let groups = in_groups(layout, &spreads_of(layout, &points), |solve, likelihoods| {
            let (slopes, solved) = (solve.slopes(), keep.then(|| solve.system.clone()));
            Group { likelihoods, slopes, solved }
        });
        for (draw, x) in points.iter().enumerate() {
            let (group, lane) = (&groups[draw / LANES], draw % LANES);
            self.logs.push(group.likelihoods[lane] + log_beliefs(layout, x));
            let each = group.slopes.iter().zip(&layout.priors).zip(x);
            self.slopes.push(each.map(|((data, prior), &x)| data[lane] + prior.slope(x)).collect());
        }
        self.points.extend(points);
        self.solved = self.solved.take().filter(|_| keep).map(|mut solved| {
            solved.extend(groups.into_iter().filter_map(|group| group.solved));
            solved
        });
    }

    /// Normalised weights against the density of all proposals together.
    ///
    /// Source: Veach and Guibas (1995), "Optimally combining sampling techniques for Monte Carlo
    /// rendering", SIGGRAPH, the balance heuristic; Cornuet, Marin, Mira and Robert (2012),
    /// "Adaptive multiple importance sampling", Scandinavian Journal of Statistics 39.
    fn weights(&self) -> Vec<f64> {
        let log = |(x, log): (&Vec<f64>, &f64)| {
            let each = self.from.iter();
            let each = each.map(|(from, count)| (*count as f64).ln() + from.log_density(x));
            log - log_sum(&each.collect::<Vec<_>>())
        };
        normalised(&self.points.iter().zip(&self.logs).map(log).collect::<Vec<_>>())
    }

    /// The weights corrected by what must hold under the posterior.
    fn corrected(&self, layout: &Layout, plain: Vec<f64>) -> Balanced {
        let bounded = layout.priors.iter().all(|prior| prior.is_proper());
        balanced(&self.points, &self.slopes, &plain, bounded, MOST_CHANGE)
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
    let points = from.points(0..count);
    let theta = spreads_of(layout, &points);
    let likelihoods = in_groups(layout, &theta, |_, likelihoods| likelihoods);
    let log = |(x, likelihood): (&Vec<f64>, &f64)| {
        likelihood + log_beliefs(layout, x) - from.log_density(x)
    };
    let logs = points.iter().zip(likelihoods.as_flattened()).map(log);
    let weights = normalised(&logs.collect::<Vec<_>>());
    SpreadDraws { theta, weights }
}

/// `log Σ exp`, from the largest.
pub(crate) fn log_sum(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top.is_finite() {
        top + logs.iter().map(|log| (log - top).exp()).sum::<f64>().ln()
    } else {
        top
    }
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
