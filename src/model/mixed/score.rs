//! What the data say of terms that a fit leaves out.

use super::conditional::Conditional;
use super::envelope::{Envelope, dot};
use super::layout::Layout;
use super::parallel::in_ranges;
use super::posterior::{Asking, Posterior};
use super::{CoefficientId, Design, Functional, MixedError};

/// What the data say of added coefficients at one draw of the spreads, each held to 0 so far.
///
/// With a the rows' multipliers of a coefficient, Σ the covariance of the rows (everything of the
/// fit in it, beliefs too) and r what they miss their means by, its score is `aᵀΣ⁻¹r` and the
/// information on two of them `aᵀΣ⁻¹b`: under the model scores are normal with mean 0 and that
/// covariance.
#[derive(Clone, Debug, PartialEq)]
pub struct ScoreAt {
    /// The draw's weight.
    pub weight: f64,
    /// A score for each added coefficient.
    pub scores: Vec<f64>,
    /// The information, row by row.
    pub information: Vec<Vec<f64>>,
}

impl Posterior {
    /// The scores of the coefficients `added` at every draw of the spreads; `design` is that of
    /// the fit with them, each believed to be 0 ± `sd`. Which `sd` does not matter: with C their
    /// covariance after the data and m their mean, the information is `C⁻¹ − I/sd²` and the
    /// scores are `C⁻¹·m`.
    ///
    /// # Errors
    /// [`MixedError`] for a number or reference that cannot be.
    pub fn scores(
        &self,
        design: &Design,
        targets: &[f64],
        (added, sd): (&[CoefficientId], f64),
    ) -> Result<Vec<ScoreAt>, MixedError> {
        design.check()?;
        let layout = Layout::new(design, targets);
        let asked: Vec<_> = (added.iter())
            .map(|&id| Functional::default().plus(id, 1.0).resolve(&layout))
            .collect();
        Ok(in_ranges(self.theta.len(), |range| {
            let mut system = Conditional::new(&layout);
            let mut asking = Asking::new(&layout);
            let at = |draw: usize| {
                system.solve(&layout, &self.theta[draw]);
                let loaded: Vec<(f64, Vec<f64>)> = (asked.iter())
                    .map(|one| (asking.load(&system, one), asking.c.clone()))
                    .collect();
                score_at(self.weights[draw], &loaded, sd)
            };
            range.filter_map(at).collect()
        }))
    }
}

/// From each coefficient's mean and its `L⁻¹·c`; `None` where they cannot be told apart.
fn score_at(weight: f64, loaded: &[(f64, Vec<f64>)], sd: f64) -> Option<ScoreAt> {
    let covariance = |i: usize, j: usize| dot(&loaded[i].1, &loaded[j].1);
    let (mut information, _) = inverse(loaded.len(), covariance)?;
    let times = |row: &Vec<f64>| row.iter().zip(loaded).map(|(p, (mean, _))| p * mean).sum();
    let scores = information.iter().map(times).collect();
    (0..loaded.len()).for_each(|at| information[at][at] -= 1.0 / (sd * sd));
    Some(ScoreAt { weight, scores, information })
}

/// The inverse of a symmetric positive definite matrix of so many rows, and the logarithm of its
/// determinant; `None` of another.
pub fn inverse(size: usize, of: impl Fn(usize, usize) -> f64) -> Option<(Vec<Vec<f64>>, f64)> {
    let envelope = Envelope::new(size, std::iter::once((0..size).collect()));
    let lower = (0..size).flat_map(|i| (0..=i).map(move |j| (i, j)));
    let mut factor: Vec<f64> = lower.map(|(i, j)| of(i, j)).collect();
    let determinant = envelope.factorise(&mut factor)?;
    let column = |at: usize| {
        let mut unit = vec![0.0; size];
        unit[at] = 1.0;
        envelope.forward(&factor, &mut unit, at);
        envelope.backward(&factor, &mut unit);
        unit
    };
    Some(((0..size).map(column).collect(), determinant))
}
