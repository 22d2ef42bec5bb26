//! The most probable spreads, where the draws begin.

use super::MixedError;
use super::conditional::Conditional;
use super::layout::Layout;
use super::parallel::at_once;
use argmin::core::{CostFunction, Error, Executor, Gradient, State, TerminationStatus};
use argmin::solver::linesearch::MoreThuenteLineSearch;
use argmin::solver::quasinewton::LBFGS;
use serde::Serialize;
use std::cell::{Cell, RefCell};

/// Sizes, in units of each spread's scale, that the search starts from.
const STARTS: [f64; 2] = [1.0, 0.25];
/// Steps of the search at most; five spreads need about twenty.
const MAX_ITERATIONS: u64 = 200;
/// The search ends when the slope of the log posterior is under this.
const FLAT: f64 = 1e-6;
/// Or when a step gains the log posterior less than this, for each hundred of its size: its
/// rounding grows with it.
const SETTLED: f64 = 1e-10;
/// Half-width of the difference that gives slopes: the cube root of the
/// log posterior's rounding error, near 1e-12.
const STEP: f64 = 1e-4;
/// Half-width of the difference that gives curvatures.
const WIDE_STEP: f64 = 0.02;
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
pub(super) struct Mode {
    pub x: Vec<f64>,
    pub widths: Vec<f64>,
    pub log_likelihood: f64,
    pub starts: Vec<Start>,
    pub evaluations: usize,
}

/// Log posterior of the spreads at `x` scales, up to a constant; even in every coordinate.
pub(super) fn log_posterior(layout: &Layout, work: &mut Conditional, x: &[f64]) -> f64 {
    let theta = spreads_at(layout, x);
    work.solve(layout, &theta);
    let prior: f64 = layout.priors.iter().zip(x).map(|(prior, x)| prior.log_density(*x)).sum();
    work.log_likelihood + prior
}

/// The spreads at `x` scales.
pub(super) fn spreads_at(layout: &Layout, x: &[f64]) -> Vec<f64> {
    layout.priors.iter().zip(x).map(|(prior, x)| prior.scale() * x.abs()).collect()
}

struct Objective<'a> {
    layout: &'a Layout,
    work: RefCell<Conditional>,
    evaluations: Cell<usize>,
}

impl<'a> Objective<'a> {
    fn new(layout: &'a Layout, evaluations: usize) -> Self {
        let work = RefCell::new(Conditional::new(layout));
        Self { layout, work, evaluations: Cell::new(evaluations) }
    }

    fn value(&self, x: &[f64]) -> f64 {
        self.evaluations.set(self.evaluations.get() + 1);
        let value = -log_posterior(self.layout, &mut self.work.borrow_mut(), x);
        if value.is_finite() { value } else { IMPOSSIBLE }
    }

    /// Values a `step` to either side along one coordinate.
    fn sides(&self, x: &[f64], k: usize, step: f64) -> (f64, f64) {
        let mut moved = x.to_vec();
        moved[k] = x[k] + step;
        let right = self.value(&moved);
        moved[k] = x[k] - step;
        (self.value(&moved), right)
    }
}

impl CostFunction for &Objective<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, x: &Vec<f64>) -> Result<f64, Error> {
        Ok(self.value(x))
    }
}

impl Gradient for &Objective<'_> {
    type Param = Vec<f64>;
    type Gradient = Vec<f64>;

    fn gradient(&self, x: &Vec<f64>) -> Result<Vec<f64>, Error> {
        let slope = |k| {
            let (left, right) = self.sides(x, k, STEP);
            (right - left) / (2.0 * STEP)
        };
        Ok((0..x.len()).map(slope).collect())
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
pub(super) fn find(layout: &Layout) -> Result<Mode, MixedError> {
    let ends = at_once(STARTS, |from| climb(layout, from));
    let ends = ends.into_iter().collect::<Result<Vec<_>, _>>()?;
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

fn climb(layout: &Layout, from: f64) -> Result<End, MixedError> {
    let objective = Objective::new(layout, 0);
    let (x, stopped) = search(&objective, vec![from; layout.priors.len()])?;
    let start = Start { from, log_posterior: -objective.value(&x), stopped };
    Ok(End { start, x, evaluations: objective.evaluations.get() })
}

fn search(objective: &Objective<'_>, from: Vec<f64>) -> Result<(Vec<f64>, String), MixedError> {
    if from.is_empty() {
        return Ok((from, "there are no spreads to find".to_owned()));
    }
    let failed = |error: Error| MixedError::NoMode(error.to_string());
    let settled = SETTLED * (1.0 + objective.value(&from).abs() / 100.0);
    let solver = LBFGS::new(MoreThuenteLineSearch::new(), 7)
        .with_tolerance_grad(FLAT)
        .map_err(failed)?
        .with_tolerance_cost(settled)
        .map_err(failed)?;
    let start = from.clone();
    let outcome = Executor::new(objective, solver)
        .configure(|state| state.param(from).max_iters(MAX_ITERATIONS))
        .run();
    match outcome {
        Ok(result) => {
            let stopped = match result.state().get_termination_status() {
                TerminationStatus::Terminated(reason) => reason.text().to_owned(),
                TerminationStatus::NotTerminated => "not ended".to_owned(),
            };
            Ok((result.state().get_best_param().cloned().unwrap_or(start), stopped))
        }
        // A line search that can gain no more ends in an error; where it began still counts.
        Err(error) => Ok((start, error.to_string())),
    }
}

/// Puts spreads that are zero at exactly zero and takes the curvature.
fn settle(objective: &Objective<'_>, mut x: Vec<f64>, starts: Vec<Start>) -> Mode {
    let mut least = objective.value(&x);
    for k in 0..x.len() {
        let found = std::mem::replace(&mut x[k], 0.0);
        let at_zero = objective.value(&x);
        if at_zero <= least + INDISTINCT {
            least = least.min(at_zero);
        } else {
            x[k] = found.abs();
        }
    }
    let widths = (0..x.len()).map(|k| width(objective, &x, k, least)).collect();
    objective.value(&x);
    let log_likelihood = objective.work.borrow().log_likelihood;
    Mode { x, widths, log_likelihood, starts, evaluations: objective.evaluations.get() }
}

/// The width that the curvature along one coordinate gives, kept between a twentieth and three
/// scales.
fn width(objective: &Objective<'_>, x: &[f64], k: usize, middle: f64) -> f64 {
    let (left, right) = objective.sides(x, k, WIDE_STEP);
    let curvature = (left + right - 2.0 * middle) / (WIDE_STEP * WIDE_STEP);
    if curvature > 0.0 { curvature.sqrt().recip().clamp(0.05, 3.0) } else { 3.0 }
}
