//! The most probable spreads, where the draws begin.

use crate::MixedError;
use crate::algebra::conditional::Solve;
use crate::algebra::groups::in_groups;
use crate::algebra::inverse::inverse;
use crate::algebra::lanes::LANES;
use crate::algebra::layout::Layout;
use crate::algebra::quasi_newton::{Sloped, descend};
use serde::Serialize;
use std::cell::{Cell, RefCell};

/// Each spread starts between two of these sizes, in units of its scale.
const SIZES: [f64; LANES] = [2.0, 1.0, 0.5, 0.25, 0.125, 0.06, 0.03, 0.015];
/// Most steps of the search; six spreads need about fifteen.
const MAX_STEPS: usize = 100;
/// The step between the slopes that give the second derivatives at the start, as a share of a
/// coordinate's size. The size counts as at least `LEAST`.
const APART: f64 = 0.01;
const LEAST: f64 = 0.1;
/// What is added first to the diagonal of a matrix that is not positive definite: this share of the
/// element plus `OF_LARGEST` times the largest one. `MOST_ADDED` such sizes are tried, each twice
/// the one before.
const FIRST_ADDED: f64 = 0.1;
const OF_LARGEST: f64 = 0.001;
const MOST_ADDED: usize = 40;
/// The step over which the change of the slope gives the curvature.
const STEP: f64 = 0.05;
/// A spread that ends below this is tried at exactly zero.
const NEARLY_ZERO: f64 = 0.02;
/// Narrowest and widest widths that the draws begin with.
const WIDTHS: (f64, f64) = (0.0003, 3.0);
/// Replaces a log posterior of −∞ where the line search needs a number.
const IMPOSSIBLE: f64 = 1e100;
/// A spread is set to exactly zero if that costs the log posterior no more than this.
const INDISTINCT: f64 = 1e-9;

/// The search for the mode and how it ended.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Search {
    /// Size of each spread at the start, in units of its scale.
    pub from: Vec<f64>,
    /// Log posterior at the end, up to a constant.
    pub log_posterior: f64,
    /// Why it stopped.
    pub stopped: String,
}

/// The record of how a fit was made.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitRecord {
    /// The search for the most probable spreads.
    pub search: Search,
    /// Total number of solves of the conditional system.
    pub evaluations: usize,
    /// Number of draws of the spreads that answers use.
    pub draws: usize,
    /// Effective number of these draws: `(Σw)²/Σw²`.
    pub effective_draws: f64,
    /// Share of the total weight on the heaviest draw.
    pub largest_weight: f64,
    /// Shape k̂ of the tail of their weights. Up to 0.5 averages converge as they should; from 0.7
    /// on they cannot be relied on.
    pub pareto_k: f64,
}

/// The mode, in units of each spread's scale, and the widths from the curvature there.
#[derive(Clone, Debug)]
pub(crate) struct Mode {
    pub x: Vec<f64>,
    pub widths: Vec<f64>,
    pub log_likelihood: f64,
    pub search: Search,
    pub evaluations: usize,
}

/// Log density of the beliefs at `x` scales, up to a constant; even in every coordinate.
pub(crate) fn log_beliefs(layout: &Layout, x: &[f64]) -> f64 {
    layout.priors.iter().zip(x).map(|(prior, x)| prior.log_density(*x)).sum()
}

/// The spreads at `x` scales.
pub(crate) fn spreads_at(layout: &Layout, x: &[f64]) -> Vec<f64> {
    layout.priors.iter().zip(x).map(|(prior, x)| prior.scale() * x.abs()).collect()
}

/// The log posterior of the spreads, up to a constant, and its slopes.
#[derive(Clone, Debug, Default)]
struct LogPosterior {
    value: f64,
    /// `x·∂/∂x` for every spread.
    slopes: Vec<f64>,
}

impl LogPosterior {
    /// The slopes of minus the log posterior in x itself. At x = 0 it is even, so its slope is
    /// zero.
    fn downhill(&self, x: &[f64]) -> Vec<f64> {
        let each = self.slopes.iter().zip(x);
        each.map(|(slope, &x)| if x == 0.0 { 0.0 } else { -slope / x }).collect()
    }
}

struct Objective<'a> {
    layout: &'a Layout,
    solve: RefCell<Solve<'a>>,
    /// The latest point and its answer, because value and slopes are asked for separately.
    last: RefCell<(Vec<f64>, LogPosterior)>,
    evaluations: Cell<usize>,
}

impl<'a> Objective<'a> {
    fn new(layout: &'a Layout) -> Self {
        Self {
            layout,
            solve: RefCell::new(Solve::new(layout)),
            last: RefCell::default(),
            evaluations: Cell::new(0),
        }
    }

    /// The log posterior at `x`, from the log likelihood there and its slopes.
    fn log_posterior(
        &self,
        x: &[f64],
        value: f64,
        slopes: impl Iterator<Item = f64>,
    ) -> LogPosterior {
        let value = value + log_beliefs(self.layout, x);
        if !value.is_finite() {
            return LogPosterior { value, slopes: vec![0.0; x.len()] };
        }
        let each = slopes.zip(&self.layout.priors).zip(x);
        LogPosterior {
            value,
            slopes: each.map(|((slope, prior), &x)| slope + prior.slope(x)).collect(),
        }
    }

    fn ask(&self, x: &[f64]) {
        if self.last.borrow().0 != x || x.is_empty() {
            self.evaluations.set(self.evaluations.get() + 1);
            let mut solve = self.solve.borrow_mut();
            let value = solve.at(&spreads_at(self.layout, x));
            let slopes = solve.slopes().into_flattened().into_iter();
            *self.last.borrow_mut() = (x.to_vec(), self.log_posterior(x, value, slopes));
        }
    }

    /// Evaluates each of these points, eight side by side.
    fn ask_each(&self, points: &[Vec<f64>]) -> Vec<LogPosterior> {
        self.evaluations.set(self.evaluations.get() + points.len());
        let theta: Vec<Vec<f64>> = points.iter().map(|x| spreads_at(self.layout, x)).collect();
        let groups = in_groups(self.layout, &theta, |solve, values| (values, solve.slopes()));
        let one = |(at, x): (usize, &Vec<f64>)| {
            let ((values, slopes), lane) = (&groups[at / LANES], at % LANES);
            self.log_posterior(x, values[lane], slopes.iter().map(|slope| slope[lane]))
        };
        points.iter().enumerate().map(one).collect()
    }

    /// The start of the search. All spreads get one size after another. Each starts where its own
    /// slope changes sign, between two sizes by the logarithm.
    fn start(&self) -> Vec<f64> {
        let spreads = self.layout.priors.len();
        let found = self.ask_each(&SIZES.map(|size| vec![size; spreads]));
        let of = |k: usize| {
            let slope = |at: usize| found[at].slopes[k];
            match (0..LANES).find(|&at| slope(at) > 0.0) {
                None => SIZES[LANES - 1],
                Some(0) => SIZES[0],
                Some(at) => {
                    let share = slope(at) / (slope(at) - slope(at - 1));
                    SIZES[at] * (SIZES[at - 1] / SIZES[at]).powf(share)
                }
            }
        };
        (0..spreads).map(of).collect()
    }
}

impl Sloped for Objective<'_> {
    fn value(&self, x: &[f64]) -> f64 {
        self.ask(x);
        let value = -self.last.borrow().1.value;
        if value.is_finite() { value } else { IMPOSSIBLE }
    }

    fn slopes(&self, x: &[f64]) -> Vec<f64> {
        self.ask(x);
        self.last.borrow().1.downhill(x)
    }

    /// From differences of the slopes. If they are not positive definite, the diagonal is made
    /// larger (Nocedal and Wright 2006, "Numerical Optimization", algorithm 3.3).
    fn bends(&self, start: &[f64]) -> Option<Vec<Vec<f64>>> {
        let step = |k: usize| APART * start[k].abs().max(LEAST);
        let moved = (0..start.len()).map(|k| moved(start, k, step(k)));
        let points: Vec<Vec<f64>> = [start.to_vec()].into_iter().chain(moved).collect();
        let slopes: Vec<Vec<f64>> = (self.ask_each(&points).iter().zip(&points))
            .map(|(found, x)| found.downhill(x))
            .collect();
        let one = |i: usize, j: usize| (slopes[i + 1][j] - slopes[0][j]) / step(i);
        let both = |i: usize, j: usize| 0.5 * (one(i, j) + one(j, i));
        let largest = (0..start.len()).map(|i| both(i, i).abs()).fold(0.0, f64::max);
        let with = |added: f64| {
            let more = |i: usize| added * (both(i, i).abs() + OF_LARGEST * largest);
            inverse(start.len(), |i, j| both(i, j) + if i == j { more(i) } else { 0.0 })
        };
        let doubled = (0..MOST_ADDED).map(|times| FIRST_ADDED * 2.0_f64.powi(times as i32));
        [0.0].into_iter().chain(doubled).find_map(with).map(|found| found.0)
    }
}

/// `x` with one coordinate moved.
fn moved(x: &[f64], k: usize, step: f64) -> Vec<f64> {
    let mut moved = x.to_vec();
    moved[k] += step;
    moved
}

/// Finds the mode.
///
/// # Errors
/// [`MixedError::NoMode`] if the search does not end at a finite log posterior.
pub(crate) fn find(layout: &Layout) -> Result<Mode, MixedError> {
    let objective = Objective::new(layout);
    let from = objective.start();
    search(&objective, from)
}

fn search(objective: &Objective<'_>, from: Vec<f64>) -> Result<Mode, MixedError> {
    let end = descend(objective, from.clone(), MAX_STEPS);
    let log_posterior = -objective.value(&end.x);
    let search = Search { from, log_posterior, stopped: end.stopped.to_owned() };
    if log_posterior <= -IMPOSSIBLE {
        return Err(MixedError::NoMode(search.stopped));
    }
    Ok(settle(objective, end.x, search))
}

/// Sets spreads that are nearly zero to exactly zero if that costs nothing, and takes the
/// curvature.
fn settle(objective: &Objective<'_>, mut x: Vec<f64>, search: Search) -> Mode {
    let mut least = objective.value(&x);
    for k in 0..x.len() {
        x[k] = x[k].abs();
        if x[k] < NEARLY_ZERO {
            let found = std::mem::replace(&mut x[k], 0.0);
            let at_zero = objective.value(&x);
            if at_zero <= least + INDISTINCT {
                least = least.min(at_zero);
            } else {
                x[k] = found;
            }
        }
    }
    let widths = widths(objective, &x);
    let log_likelihood = -objective.value(&x) - log_beliefs(objective.layout, &x);
    Mode { x, widths, log_likelihood, search, evaluations: objective.evaluations.get() }
}

/// The width along each coordinate, from the curvature: the slope a step away, since the slope at
/// the mode is zero. Where the log posterior is sharp, the step is made smaller.
fn widths(objective: &Objective<'_>, x: &[f64]) -> Vec<f64> {
    let mut widths = vec![0.0; x.len()];
    let mut open: Vec<usize> = (0..x.len()).collect();
    let mut step = STEP;
    while !open.is_empty() {
        let points: Vec<Vec<f64>> = open.iter().map(|&k| moved(x, k, step)).collect();
        for ((&k, found), at) in open.iter().zip(objective.ask_each(&points)).zip(&points) {
            let curvature = found.downhill(at)[k] / step;
            widths[k] = if curvature > 0.0 { curvature.sqrt().recip() } else { WIDTHS.1 };
        }
        open.retain(|&k| widths[k] <= 0.5 * step && step >= WIDTHS.0);
        step *= 0.2;
    }
    widths.into_iter().map(|width| width.clamp(WIDTHS.0, WIDTHS.1)).collect()
}
