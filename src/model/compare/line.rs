//! Predictions from a straight line, by the usual t formula for a new observation.

use crate::model::plain::ordinary::{Ordinary, OrdinaryError, least_squares};
use statrs::distribution::{Continuous, ContinuousCDF, StudentsT};

/// Residual scatter below this share of the largest value is rounding error. The points lie on the
/// line, so they say nothing about the width of a range.
pub(super) const ROUNDING: f64 = 1e-12;

/// A fitted line, with the sums that a prediction needs.
#[derive(Clone, Debug, PartialEq)]
pub struct PredictiveLine {
    line: Ordinary,
    mean_x: f64,
    squares_x: f64,
}

/// A Student-t distribution: `location + scale·T`, T with `freedom` degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StudentT {
    pub location: f64,
    /// Above zero.
    pub scale: f64,
    /// Degrees of freedom, at least one.
    pub freedom: f64,
}

impl PredictiveLine {
    /// The least-squares line of `y` on `x`. `None` if the points lie on it up to rounding, because
    /// its range would have no width.
    ///
    /// # Errors
    /// [`OrdinaryError`] with fewer than three points, or if x does not vary.
    pub fn new(x: Vec<f64>, y: &[f64]) -> Result<Option<Self>, OrdinaryError> {
        let mean_x = x.iter().sum::<f64>() / x.len() as f64;
        let squares_x = x.iter().map(|x| (x - mean_x) * (x - mean_x)).sum();
        let line = least_squares(&[x], y, true)?;
        let largest = y.iter().fold(0.0_f64, |most, y| most.max(y.abs()));
        let scatters = line.residual_sd > ROUNDING * largest;
        Ok(scatters.then_some(Self { line, mean_x, squares_x }))
    }

    /// The distribution of a new observation at `x`: centre `a + b·x`, scale
    /// `s·√(1 + 1/n + (x − x̄)²/Σ(xᵢ − x̄)²)`, n − 2 degrees of freedom.
    ///
    /// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.5.1.2.
    pub fn at(&self, x: f64) -> StudentT {
        let rows = self.line.rows as f64;
        let away = x - self.mean_x;
        let inflation = 1.0 + 1.0 / rows + away * away / self.squares_x;
        let slope: f64 = self.line.slopes.iter().sum();
        StudentT {
            location: self.line.intercept.unwrap_or(0.0) + slope * x,
            scale: self.line.residual_sd * inflation.sqrt(),
            freedom: rows - 2.0,
        }
    }
}

impl StudentT {
    /// The probabilities below and above `x`.
    pub fn tails(self, x: f64) -> (f64, f64) {
        let z = (x - self.location) / self.scale;
        let share = |z: f64| self.standard().map_or(f64::NAN, |student| student.cdf(z));
        (share(z), share(-z))
    }

    pub fn log_density(self, x: f64) -> f64 {
        let z = (x - self.location) / self.scale;
        self.standard().map_or(f64::NAN, |student| student.ln_pdf(z)) - self.scale.ln()
    }

    /// The standard distribution; `None` if `freedom` is not above zero.
    fn standard(self) -> Option<StudentsT> {
        StudentsT::new(0.0, 1.0, self.freedom).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: x 1, 2, 3, y 1, 3, 2: slope 0.5, intercept 1, residual sum of squares 1.5.
    #[test]
    fn a_new_observation_is_predicted_as_by_hand() {
        let line = PredictiveLine::new(vec![1.0, 2.0, 3.0], &[1.0, 3.0, 2.0]).unwrap().unwrap();
        let at = line.at(5.0);
        assert!((at.location - 3.5).abs() < 1e-12);
        let scale = (1.5_f64 * (1.0 + 1.0 / 3.0 + 9.0 / 2.0)).sqrt();
        assert!((at.scale - scale).abs() < 1e-12 && at.freedom == 1.0);
        // With one degree of freedom this is the Cauchy distribution: a quarter lies beyond one
        // scale, and the density there is 1/(2π·scale).
        let (below, above) = at.tails(3.5 + scale);
        assert!((above - 0.25).abs() < 1e-12 && (below - 0.75).abs() < 1e-12);
        let density = -(2.0 * std::f64::consts::PI * scale).ln();
        assert!((at.log_density(3.5 + scale) - density).abs() < 1e-12);
    }

    #[test]
    fn points_on_a_line_leave_no_range() {
        let x = vec![1.0, 2.0, 3.0, 4.0];
        assert_eq!(PredictiveLine::new(x.clone(), &[2.0, 4.0, 6.0, 8.0]), Ok(None));
        assert_eq!(PredictiveLine::new(x, &[0.0; 4]), Ok(None));
        assert!(PredictiveLine::new(vec![1.0, 2.0], &[1.0, 2.0]).is_err());
        assert!(PredictiveLine::new(vec![], &[]).is_err());
    }
}
