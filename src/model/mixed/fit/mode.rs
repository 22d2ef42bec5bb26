//! The most probable spreads, where the draws begin.

use crate::model::mixed::MixedError;
use crate::model::mixed::algebra::conditional::Solve;
use crate::model::mixed::algebra::layout::Layout;
use crate::model::mixed::algebra::quasi_newton::{Sloped, descend};
use crate::units::at_once;
use serde::Serialize;
use std::cell::{Cell, RefCell};

/// Sizes, in units of each spread's scale, that the search starts from.
const STARTS: [f64; 2] = [1.0, 0.25];
/// Steps of the search at most; six spreads need about fifteen.
const MAX_STEPS: usize = 100;
/// The step over which the change of the slope gives the curvature.
const STEP: f64 = 0.05;
/// How near to zero the search may end at a spread whose most probable value is zero.
const NEARLY_ZERO: f64 = 0.02;
/// Narrowest and widest that the draws begin with.
const WIDTHS: (f64, f64) = (0.0003, 3.0);
/// Stands for a log posterior of −∞ where the line search needs a number.
const IMPOSSIBLE: f64 = 1e100;
/// A spread is put at exactly zero when that costs the log posterior no more than this.
const INDISTINCT: f64 = 1e-9;

/// One start of the search for the mode and how it ended.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Start {
    /// Size of every spread at the start, in units of its scale.
    pub from: f64,
    /// Log posterior where it ended, up to a constant.
    pub log_posterior: f64,
    /// Why it stopped.
    pub stopped: String,
}

/// How a fit came about.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitRecord {
    /// Every start of the search.
    pub starts: Vec<Start>,
    /// Solves of the conditional system, in all.
    pub evaluations: usize,
    /// Draws over the spreads in the last round.
    pub draws: usize,
    /// How many of them count: `(Σw)²/Σw²`.
    pub effective_draws: f64,
    /// The share of all weight that one of them carries.
    pub largest_weight: f64,
    /// Shape k̂ of the tail of their weights: up to 0.5 averages converge as they should, from 0.7
    /// on they cannot be relied on.
    pub pareto_k: f64,
}

/// The mode, in units of each spread's scale, and the widths that the curvature gives.
#[derive(Clone, Debug)]
pub(crate) struct Mode {
    pub x: Vec<f64>,
    pub widths: Vec<f64>,
    pub log_likelihood: f64,
    pub starts: Vec<Start>,
    pub evaluations: usize,
}

/// The log posterior of the spreads, up to a constant, and its slopes.
#[derive(Clone, Debug, Default)]
struct LogPosterior {
    value: f64,
    /// `x·∂/∂x` for every spread.
    slopes: Vec<f64>,
}

/// Log density of the beliefs at `x` scales, up to a constant; even in every coordinate.
pub(crate) fn log_beliefs(layout: &Layout, x: &[f64]) -> f64 {
    layout.priors.iter().zip(x).map(|(prior, x)| prior.log_density(*x)).sum()
}

fn with_slopes(layout: &Layout, solve: &mut Solve<'_>, x: &[f64]) -> LogPosterior {
    let value = solve.at(&spreads_at(layout, x)) + log_beliefs(layout, x);
    if !value.is_finite() {
        return LogPosterior { value, slopes: vec![0.0; x.len()] };
    }
    let mut slopes = solve.slopes().into_flattened();
    let each = slopes.iter_mut().zip(&layout.priors).zip(x);
    each.for_each(|((slope, prior), &x)| *slope += prior.slope(x));
    LogPosterior { value, slopes }
}

/// The spreads at `x` scales.
pub(crate) fn spreads_at(layout: &Layout, x: &[f64]) -> Vec<f64> {
    layout.priors.iter().zip(x).map(|(prior, x)| prior.scale() * x.abs()).collect()
}

struct Objective<'a> {
    layout: &'a Layout,
    solve: RefCell<Solve<'a>>,
    /// Where it was asked last, and the answer: value and slopes are asked for one by one.
    last: RefCell<(Vec<f64>, LogPosterior)>,
    evaluations: Cell<usize>,
}

impl<'a> Objective<'a> {
    fn new(layout: &'a Layout, evaluations: usize) -> Self {
        let solve = RefCell::new(Solve::new(layout));
        Self { layout, solve, last: RefCell::default(), evaluations: Cell::new(evaluations) }
    }

    fn ask(&self, x: &[f64]) {
        if self.last.borrow().0 != x || x.is_empty() {
            self.evaluations.set(self.evaluations.get() + 1);
            let found = with_slopes(self.layout, &mut self.solve.borrow_mut(), x);
            *self.last.borrow_mut() = (x.to_vec(), found);
        }
    }
}

impl Sloped for Objective<'_> {
    fn value(&self, x: &[f64]) -> f64 {
        self.ask(x);
        let value = -self.last.borrow().1.value;
        if value.is_finite() { value } else { IMPOSSIBLE }
    }

    /// Against x itself. At zero, where the log posterior is even, it is zero.
    fn slopes(&self, x: &[f64]) -> Vec<f64> {
        self.ask(x);
        let last = self.last.borrow();
        let each = last.1.slopes.iter().zip(x);
        each.map(|(slope, &x)| if x == 0.0 { 0.0 } else { -slope / x }).collect()
    }
}

/// Where one start of the search ended.
struct End {
    start: Start,
    x: Vec<f64>,
    evaluations: usize,
}

/// Finds the mode from several starts.
///
/// # Errors
/// [`MixedError::NoMode`] when no start ends at a finite log posterior.
pub(crate) fn find(layout: &Layout) -> Result<Mode, MixedError> {
    let ends = at_once(STARTS, |from| climb(layout, from));
    let spent: usize = ends.iter().map(|end| end.evaluations).sum();
    let starts: Vec<Start> = ends.iter().map(|end| end.start.clone()).collect();
    let best = ends
        .into_iter()
        .filter(|end| end.start.log_posterior > -IMPOSSIBLE)
        .max_by(|a, b| a.start.log_posterior.total_cmp(&b.start.log_posterior));
    match best {
        Some(end) => Ok(settle(&Objective::new(layout, spent), end.x, starts)),
        None => Err(MixedError::NoMode(starts.into_iter().map(|s| s.stopped).collect::<String>())),
    }
}

fn climb(layout: &Layout, from: f64) -> End {
    let objective = Objective::new(layout, 0);
    let end = descend(&objective, vec![from; layout.priors.len()], MAX_STEPS);
    let log_posterior = -objective.value(&end.x);
    let start = Start { from, log_posterior, stopped: end.stopped.to_owned() };
    End { start, x: end.x, evaluations: objective.evaluations.get() }
}

/// Puts spreads that are zero at exactly zero and takes the curvature.
fn settle(objective: &Objective<'_>, mut x: Vec<f64>, starts: Vec<Start>) -> Mode {
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
    let widths = (0..x.len()).map(|k| width(objective, &x, k)).collect();
    objective.ask(&x);
    let log_likelihood = objective.solve.borrow().system.log_likelihood[0];
    Mode { x, widths, log_likelihood, starts, evaluations: objective.evaluations.get() }
}

/// The width that the curvature along one coordinate gives: the slope a step away, for at the mode
/// it is nothing. Where the log posterior is sharp the step is small.
fn width(objective: &Objective<'_>, x: &[f64], k: usize) -> f64 {
    let mut step = STEP;
    loop {
        let mut moved = x.to_vec();
        moved[k] += step;
        let curvature = objective.slopes(&moved)[k] / step;
        let width = if curvature > 0.0 { curvature.sqrt().recip() } else { WIDTHS.1 };
        if width > 0.5 * step || step < WIDTHS.0 {
            return width.clamp(WIDTHS.0, WIDTHS.1);
        }
        step *= 0.2;
    }
}
