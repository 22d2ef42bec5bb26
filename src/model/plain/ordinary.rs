//! Ordinary least squares by linfa-linear, with the checks that the library leaves to its caller.
//!
//! linfa-linear returns an answer instead of an error for proportional columns, a constant column
//! beside the intercept, too few rows and numbers that are not finite. This module refuses all of
//! these first.

use linfa::dataset::DatasetBase;
use linfa::traits::Fit;
use linfa_linear::LinearRegression;
use ndarray::{Array1, Array2};
use thiserror::Error;

/// A column counts as a combination of others if subtracting them leaves at most this share of its
/// length. The share is half of a double's digits.
const COLLINEAR: f64 = 1e-8;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum OrdinaryError {
    /// Fewer rows than the unknowns and one degree of freedom need.
    #[error("not enough trials: {rows} of at least {needed}")]
    FewRows { rows: usize, needed: usize },
    /// A column does not vary, or is a combination of others.
    #[error("the trials do not vary enough to draw a line")]
    Collinear,
    #[error("a value is not a finite number")]
    NotFinite,
    #[error("the line could not be drawn: {0}")]
    Library(String),
}

/// A line: `y = intercept + Σ slope·x`.
#[derive(Clone, Debug, PartialEq)]
pub struct Ordinary {
    /// `None` for a line through the origin.
    pub intercept: Option<f64>,
    /// One per column.
    pub slopes: Vec<f64>,
    /// Standard deviation of the residuals, `√(RSS/(n − p))`.
    pub residual_sd: f64,
    pub rows: usize,
}

/// Least squares of `y` on `columns`, with or without an intercept.
///
/// # Errors
/// [`OrdinaryError`] unless there is exactly one answer.
pub fn least_squares(
    columns: &[Vec<f64>],
    y: &[f64],
    with_intercept: bool,
) -> Result<Ordinary, OrdinaryError> {
    let unknowns = columns.len() + usize::from(with_intercept);
    if y.len() <= unknowns {
        return Err(OrdinaryError::FewRows { rows: y.len(), needed: unknowns + 1 });
    }
    if columns.iter().flatten().chain(y).any(|value| !value.is_finite()) {
        return Err(OrdinaryError::NotFinite);
    }
    let centre = |values: &[f64]| if with_intercept { mean(values) } else { 0.0 };
    let scaled: Vec<Scaled> =
        columns.iter().map(|column| Scaled::new(column, centre(column))).collect();
    refuse_collinear(columns, &scaled)?;
    let y_centre = centre(y);
    let slopes = solve(&scaled, y, y_centre)?;
    let reach = |row: usize| slopes.iter().zip(columns).map(|(b, x)| b * x[row]).sum::<f64>();
    let lift: f64 = slopes.iter().zip(&scaled).map(|(b, x)| b * x.centre).sum();
    let intercept = y_centre - lift;
    let squares: f64 =
        y.iter().enumerate().map(|(row, y)| (y - intercept - reach(row)).powi(2)).sum();
    Ok(Ordinary {
        intercept: with_intercept.then_some(intercept),
        slopes,
        residual_sd: (squares / (y.len() - unknowns) as f64).sqrt(),
        rows: y.len(),
    })
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn length(values: &[f64]) -> f64 {
    values.iter().map(|value| value * value).sum::<f64>().sqrt()
}

/// A column, centred and scaled to length one. Without this, an offset of a million costs eight
/// digits.
struct Scaled {
    centre: f64,
    length: f64,
    values: Vec<f64>,
}

impl Scaled {
    fn new(column: &[f64], centre: f64) -> Self {
        let centred: Vec<f64> = column.iter().map(|x| x - centre).collect();
        let length = length(&centred);
        Self { centre, length, values: centred.iter().map(|x| x / length).collect() }
    }
}

/// Subtracts from each column what the columns before it explain. Refuses it if nothing is left.
fn refuse_collinear(columns: &[Vec<f64>], scaled: &[Scaled]) -> Result<(), OrdinaryError> {
    let mut basis: Vec<Vec<f64>> = Vec::new();
    for (column, scaled) in columns.iter().zip(scaled) {
        if scaled.length <= COLLINEAR * length(column) {
            return Err(OrdinaryError::Collinear);
        }
        let mut rest = scaled.values.clone();
        for direction in &basis {
            let along: f64 = direction.iter().zip(&rest).map(|(a, b)| a * b).sum();
            rest.iter_mut().zip(direction).for_each(|(value, d)| *value -= along * d);
        }
        let left = length(&rest);
        if left <= COLLINEAR {
            return Err(OrdinaryError::Collinear);
        }
        basis.push(rest.iter().map(|value| value / left).collect());
    }
    Ok(())
}

fn solve(scaled: &[Scaled], y: &[f64], y_centre: f64) -> Result<Vec<f64>, OrdinaryError> {
    let x = Array2::from_shape_fn((y.len(), scaled.len()), |(row, col)| scaled[col].values[row]);
    let targets = Array1::from_iter(y.iter().map(|y| y - y_centre));
    let fitted = LinearRegression::new()
        .with_intercept(false)
        .fit(&DatasetBase::new(x, targets))
        .map_err(|error| OrdinaryError::Library(error.to_string()))?;
    Ok(fitted.params().iter().zip(scaled).map(|(b, x)| b / x.length).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_its_own_points_is_found_far_from_the_origin() {
        let x: Vec<f64> = (0..7).map(|i| 1e6 + f64::from(i)).collect();
        let y: Vec<f64> = x.iter().map(|x| 3.0 + 2.0 * (x - 1e6)).collect();
        let line = least_squares(&[x], &y, true).unwrap();
        assert!((line.slopes[0] - 2.0).abs() < 1e-12);
        assert!(line.residual_sd < 1e-9);
    }

    #[test]
    fn what_has_no_one_answer_is_refused() {
        let up = vec![1.0, 2.0, 3.0, 4.0];
        let double: Vec<f64> = up.iter().map(|x| 2.0 * x).collect();
        let flat = vec![1.0; 4];
        assert_eq!(least_squares(&[up.clone(), double], &up, true), Err(OrdinaryError::Collinear));
        assert_eq!(least_squares(&[flat], &up, true), Err(OrdinaryError::Collinear));
        assert_eq!(least_squares(&[vec![0.0; 4]], &up, false), Err(OrdinaryError::Collinear));
        assert!(matches!(
            least_squares(&[vec![1.0, 2.0]], &[1.0, 2.0], true),
            Err(OrdinaryError::FewRows { rows: 2, needed: 3 })
        ));
        assert!(least_squares(&[], &[], true).is_err());
        let nan = vec![f64::NAN, 1.0, 2.0, 3.0];
        assert_eq!(least_squares(&[nan], &up, true), Err(OrdinaryError::NotFinite));
    }
}
