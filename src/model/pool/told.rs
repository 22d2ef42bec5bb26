//! What one bench's readings say, as independent measurements of its coefficients.

use super::error::PoolError;
use super::site::Site;
use super::symmetric::Column;
use crate::model::swell::beliefs::{COEFFICIENTS, Square};

/// Information about a direction is ignored below this share of what is believed about it.
const NOTHING: f64 = 1e-9;
/// The share of the largest information that is rounding error.
const ROUNDING: f64 = 1e-12;
/// Rounding may make a matrix indefinite by up to this share of the largest information.
const ROUNDED: f64 = 1e-7;
/// No readings say a million million times as much as common practice.
const MOST: f64 = 1e12;

/// I = FᵀF and w = Fᵀω: as if every row of F times z had been measured once, with standard
/// deviation one and the result ω.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Told {
    pub rows: Vec<Column>,
    pub found: Vec<f64>,
}

impl Told {
    /// From a likelihood in units in which common practice is standard normal.
    ///
    /// # Errors
    /// [`PoolError::Impossible`] if I is not positive semidefinite, or a number is not finite or is
    /// far too large.
    pub fn of(site: &Site, bench: usize) -> Result<Self, PoolError> {
        let mut all = site.information.iter().flatten().chain(&site.weighted);
        let impossible = |why| PoolError::Impossible { bench, why };
        if !all.all(|value| value.abs() <= MOST) {
            return Err(impossible("it claims more than any readings can show"));
        }
        Self::factorised(site.information, site.weighted)
            .ok_or_else(|| impossible("no readings can give this information"))
    }

    /// Cholesky's method with the largest pivot first. It ends when only rounding is left.
    fn factorised(mut left: Square, mut weighted: Column) -> Option<Self> {
        let largest = |left: &Square| {
            (0..COEFFICIENTS).max_by(|&i, &j| left[i][i].total_cmp(&left[j][j])).unwrap_or(0)
        };
        let top = largest(&left);
        let top = left[top][top].max(0.0);
        let mut told = Self::default();
        while told.rows.len() < COEFFICIENTS {
            let at = largest(&left);
            let pivot = left[at][at];
            // Also ends at NaN.
            if pivot.is_nan() || pivot <= NOTHING + ROUNDING * top {
                break;
            }
            let root = pivot.sqrt();
            let row: Column = std::array::from_fn(|i| left[at][i] / root);
            let found = weighted[at] / root;
            for i in 0..COEFFICIENTS {
                (0..COEFFICIENTS).for_each(|j| left[i][j] -= row[i] * row[j]);
                weighted[i] -= row[i] * found;
            }
            told.rows.push(row);
            told.found.push(found);
        }
        let rest = left.iter().flatten().fold(0.0_f64, |most, value| most.max(value.abs()));
        (rest <= ROUNDED * (1.0 + top)).then_some(told)
    }

    /// Whether it says anything about a coefficient.
    pub fn names(&self, coefficient: usize) -> bool {
        self.rows.iter().any(|row| row[coefficient] != 0.0)
    }
}
