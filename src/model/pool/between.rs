//! How much benches differ: the most probable T, and the means given it.

use super::error::PoolError;
use super::marginal::{Benches, Given, Together, open};
use super::square::{ZERO, plus, times_turned};
use super::symmetric::{Column, even, forward};
use crate::model::mixed::{Sloped, descend, inverse};
use crate::model::swell::beliefs::{COEFFICIENTS, Square, square};
use std::cell::RefCell;

/// The belief about how much benches differ weighs as much as this many benches, known exactly and
/// differing as believed.
pub(super) const BELIEVED_BENCHES: f64 = 11.0;
/// The believed variance between benches, in units of common practice's. Benches differ by a third
/// of the uncertainty about a coefficient.
pub(super) const BELIEVED_BETWEEN: f64 = 1.0 / 9.0;
/// Benches may differ more than believed in everything. The logarithm of the factor on the believed
/// variance is half-normal with this scale (a factor of two in standard deviations). Benches are
/// taken to differ less than believed only if they show it.
const BELIEVED_FACTOR: f64 = 2.0 * std::f64::consts::LN_2;
/// Where the search for the square root of that logarithm starts.
const FACTOR_START: f64 = 0.5;
/// Most benches from which the curvature at the start of the search is worked out.
const SHOWN: usize = 512;
/// Most steps of the search. Sixty-six numbers take about a hundred.
const MAX_STEPS: usize = 2000;

/// The belief before any bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pooling {
    /// Nothing: restricted maximum likelihood, over the coefficients that some bench informs.
    /// Common practice replaces the others.
    Reml,
    /// Common practice, which many benches outweigh.
    Regularised,
}

/// T and the means, in units of common practice's standard deviations.
#[derive(Clone, Debug)]
pub(super) struct Between {
    pub means: Column,
    /// A lower triangular root of T.
    pub root: Square,
    /// The covariance of the means, given T.
    pub uncertainty: Square,
    pub log_density: f64,
    /// The coefficients that are pooled.
    pub named: [bool; COEFFICIENTS],
}

impl Between {
    /// T.
    pub fn covariance(&self) -> Square {
        times_turned(&self.root, &self.root)
    }
}

/// The latest question: the point, the log density there, and the sums.
type Asked = (Vec<f64>, f64, Option<Together>);

/// The objective of the search: the benches, and the beliefs about T and the means.
pub(super) struct Question<'a> {
    pub benches: Benches<'a>,
    how: Pooling,
    prior: Square,
    named: [bool; COEFFICIENTS],
    /// Positions of the free numbers of the root, row by row.
    free: Vec<(usize, usize)>,
    last: RefCell<Option<Asked>>,
}

impl<'a> Question<'a> {
    pub fn new(benches: Benches<'a>, how: Pooling) -> Self {
        let named: [bool; COEFFICIENTS] = std::array::from_fn(|i| match how {
            Pooling::Reml => benches.told.iter().any(|told| told.names(i)),
            Pooling::Regularised => true,
        });
        let prior = match how {
            Pooling::Reml => open(&named),
            Pooling::Regularised => believed_precision(),
        };
        let all = (0..COEFFICIENTS).flat_map(|i| (0..=i).map(move |j| (i, j)));
        let free = all.filter(|&(i, j)| named[i] && named[j]).collect();
        Self { benches, how, prior, named, free, last: RefCell::new(None) }
    }

    fn root(&self, x: &[f64]) -> Square {
        let mut root = ZERO;
        self.free.iter().zip(x).for_each(|(&(i, j), x)| root[i][j] = *x);
        root
    }

    fn ask(&self, x: &[f64]) {
        if self.last.borrow().as_ref().is_some_and(|last| last.0 == x) {
            return;
        }
        let root = self.root(x);
        let together = self.benches.at(&root, &self.prior);
        let value = together
            .as_ref()
            .map_or(f64::NAN, |found| found.log_density + self.believed(&root, self.factor(x)));
        *self.last.borrow_mut() = Some((x.to_vec(), value, together));
    }

    /// `√log κ`, which comes after the numbers of the root.
    fn factor(&self, x: &[f64]) -> f64 {
        x.get(self.free.len()).copied().unwrap_or(0.0)
    }

    /// The log belief about T and κ: `−(ν/2)·(log|T| − p·log κ + κ·tr(T⁻¹·T₀)) − ½·(log κ/τ)²`.
    fn believed(&self, root: &Square, factor: f64) -> f64 {
        match self.how {
            Pooling::Reml => 0.0,
            Pooling::Regularised => {
                let logs: f64 = (0..COEFFICIENTS).map(|i| 2.0 * root[i][i].abs().ln()).sum();
                let log_factor = factor * factor;
                let trace = BELIEVED_BETWEEN * log_factor.exp() * trace_of_inverse(root);
                let shape = logs - COEFFICIENTS as f64 * log_factor + trace;
                -0.5 * (BELIEVED_BENCHES * shape + (log_factor / BELIEVED_FACTOR).powi(2))
            }
        }
    }

    /// Twice the slope of the log belief against T.
    fn believed_slope(&self, root: &Square, factor: f64) -> Square {
        match self.how {
            Pooling::Reml => ZERO,
            Pooling::Regularised => {
                let half = inverse_of(root);
                let inverse = times_turned(&half, &half);
                let squared = times_turned(&inverse, &inverse);
                let believed = BELIEVED_BETWEEN * (factor * factor).exp();
                plus(&ZERO, -BELIEVED_BENCHES, &plus(&inverse, -believed, &squared))
            }
        }
    }

    /// The slope of the log belief against `√log κ`.
    fn factor_slope(&self, root: &Square, factor: f64) -> Option<f64> {
        match self.how {
            Pooling::Reml => None,
            Pooling::Regularised => {
                let log_factor = factor * factor;
                let trace = BELIEVED_BETWEEN * log_factor.exp() * trace_of_inverse(root);
                let shape = 0.5 * BELIEVED_BENCHES * (COEFFICIENTS as f64 - trace);
                Some(2.0 * factor * (shape - log_factor / BELIEVED_FACTOR.powi(2)))
            }
        }
    }

    /// Precisions of single benches at the start, each with the number of benches that it
    /// represents. With T = s²·E, the expected second derivative of the log density against the
    /// numbers (i, j) and (k, l) of the root is −s²·Σ(Q_ik·Q_jl + Q_il·Q_jk).
    fn precisions_at_start(&self) -> Vec<(f64, Square)> {
        let told = self.benches.told;
        let step = told.len().div_ceil(SHOWN).max(1);
        let root = even(BELIEVED_BETWEEN.sqrt());
        let shown = told.iter().zip(self.benches.weights).step_by(step);
        let of = |(told, weight)| (weight * step as f64, Given::new(told, &root).precision());
        let believed = (BELIEVED_BENCHES, even(1.0 / BELIEVED_BETWEEN));
        let believed = (self.how == Pooling::Regularised).then_some(believed);
        shown.map(of).chain(believed).collect()
    }

    /// Finds T and the means.
    ///
    /// # Errors
    /// [`PoolError::Open`] if the benches leave a mean undetermined, [`PoolError::NoEnd`] if the
    /// search does not end.
    pub fn answer(&self) -> Result<Between, PoolError> {
        let start = BELIEVED_BETWEEN.sqrt();
        let of_root = self.free.iter().map(|&(i, j)| if i == j { start } else { 0.0 });
        let of_factor = (self.how == Pooling::Regularised).then_some(FACTOR_START);
        let start = of_root.chain(of_factor).collect();
        let end = descend(self, start, MAX_STEPS);
        let root = self.root(&end.x);
        let found = self.benches.at(&root, &self.prior).ok_or(PoolError::Open)?;
        if !end.settled {
            return Err(PoolError::NoEnd { stopped: end.stopped });
        }
        Ok(Between {
            means: found.means,
            root,
            uncertainty: found.precision.inverse().ok_or(PoolError::Open)?,
            log_density: found.log_density,
            named: self.named,
        })
    }
}

impl Sloped for Question<'_> {
    fn value(&self, x: &[f64]) -> f64 {
        self.ask(x);
        let value = self.last.borrow().as_ref().map_or(f64::NAN, |last| -last.1);
        if value.is_finite() { value } else { f64::MAX }
    }

    fn slopes(&self, x: &[f64]) -> Vec<f64> {
        self.ask(x);
        let last = self.last.borrow();
        let Some((_, _, Some(together))) = last.as_ref() else { return vec![0.0; x.len()] };
        let root = self.root(x);
        let believed = self.believed_slope(&root, self.factor(x));
        let twice = plus(&self.benches.slope(together), 1.0, &believed);
        // Against the root: dT = dL·Lᵀ + L·dLᵀ.
        let slope = times_turned(&twice, &square(|i, j| root[j][i]));
        let of_root = self.free.iter().map(|&(i, j)| slope[i][j]);
        of_root.chain(self.factor_slope(&root, self.factor(x))).map(|slope| -slope).collect()
    }

    fn bends(&self, _start: &[f64]) -> Option<Vec<Vec<f64>>> {
        let precisions = self.precisions_at_start();
        let mut expected = vec![vec![0.0; self.free.len()]; self.free.len()];
        for (weight, q) in &precisions {
            for (row, &(i, j)) in expected.iter_mut().zip(&self.free) {
                for (value, &(k, l)) in row.iter_mut().zip(&self.free) {
                    *value += weight * BELIEVED_BETWEEN * (q[i][k] * q[j][l] + q[i][l] * q[j][k]);
                }
            }
        }
        let of_factor = BELIEVED_BENCHES * COEFFICIENTS as f64 / 2.0;
        let size = self.free.len() + usize::from(self.how == Pooling::Regularised);
        let of = |i: usize, j: usize| match (expected.get(i), i == j) {
            (Some(row), _) => row.get(j).copied().unwrap_or(0.0),
            (None, true) => of_factor,
            (None, false) => 0.0,
        };
        inverse(size, of).map(|found| found.0)
    }
}

/// The believed precision of the means. Their variance is what is left of common practice without
/// T₀.
pub(super) fn believed_precision() -> Square {
    even(1.0 / (1.0 - BELIEVED_BETWEEN))
}

/// The inverse of a lower triangular matrix, transposed: row i has L⁻¹·e_i.
fn inverse_of(root: &Square) -> Square {
    even(1.0).map(|unit| forward(root, &unit))
}

/// `tr(T⁻¹)`.
fn trace_of_inverse(root: &Square) -> f64 {
    inverse_of(root).iter().flatten().map(|value| value * value).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::pool::site::Site;
    use crate::model::pool::told::Told;

    /// The slopes that the search uses are those of small steps, κ included, and they are zero
    /// where the search ends.
    #[test]
    fn the_search_goes_by_the_slopes_of_what_it_seeks() {
        const STEP: f64 = 1e-5;
        let told: Vec<Told> = (0..4)
            .map(|at| {
                let mut site = Site { information: ZERO, weighted: [0.0; COEFFICIENTS] };
                for i in 0..7 + at {
                    site.information[i][i] = 20.0 + 5.0 * i as f64;
                    site.weighted[i] = 10.0 * ((3 * i + 5 * at) as f64).sin();
                }
                Told::of(&site, at).unwrap()
            })
            .collect();
        let question = Question::new(
            Benches { told: &told, weights: &[1.0, 1.0, 0.5, 1.0] },
            Pooling::Regularised,
        );
        let mut x: Vec<f64> =
            question.free.iter().map(|&(i, j)| if i == j { 0.4 } else { 0.03 }).collect();
        x.push(0.7);
        let slopes = question.slopes(&x);
        for at in [0, 1, 2, 20, 65, 66] {
            let moved = |by: f64| {
                let mut moved = x.clone();
                moved[at] += by;
                question.value(&moved)
            };
            let found = (moved(STEP) - moved(-STEP)) / (2.0 * STEP);
            assert!(
                (found - slopes[at]).abs() < 1e-5 * (1.0 + found.abs()),
                "{at}: {found} {}",
                slopes[at]
            );
        }
        let end = question.answer().unwrap();
        let ended = question.last.borrow().as_ref().map(|last| last.0.clone()).unwrap();
        let steepest =
            question.slopes(&ended).into_iter().fold(0.0_f64, |most, x| most.max(x.abs()));
        assert!(steepest < 1e-4, "{steepest}");
        assert!(end.root[0][0].abs() > 0.0);
    }
}
