//! Sums and products of matrices of the coefficients' size, and the root of one.

use super::symmetric::{Column, backward, cholesky, dot, forward, inverse};
use crate::model::swell::beliefs::{COEFFICIENTS, Square, square};

pub(super) const ZERO: Square = [[0.0; COEFFICIENTS]; COEFFICIENTS];

/// `a + share·b`.
pub(super) fn plus(a: &Square, share: f64, b: &Square) -> Square {
    square(|i, j| a[i][j] + share * b[i][j])
}

/// Adds `share·x·xᵀ`.
pub(super) fn add_outer(sum: &mut Square, share: f64, x: &Column) {
    for (row, left) in sum.iter_mut().zip(x) {
        (0..COEFFICIENTS).for_each(|j| row[j] += share * left * x[j]);
    }
}

/// `A·Bᵀ`.
pub(super) fn times_turned(a: &Square, b: &Square) -> Square {
    square(|i, j| dot(&a[i], &b[j]))
}

/// `A·B·A` for symmetric matrices.
pub(super) fn around(a: &Square, b: &Square) -> Square {
    times_turned(&times_turned(a, b), a)
}

/// A positive definite matrix `L·Lᵀ` and its lower triangular root L.
#[derive(Clone, Debug)]
pub(super) struct Root {
    matrix: Square,
    root: Square,
}

impl Root {
    /// `None` if the matrix is not positive definite.
    pub fn of(matrix: Square) -> Option<Self> {
        cholesky(&matrix).map(|root| Self { matrix, root })
    }

    pub fn matrix(&self) -> &Square {
        &self.matrix
    }

    /// L.
    pub fn root(&self) -> &Square {
        &self.root
    }

    /// The log determinant of the matrix.
    pub fn log_determinant(&self) -> f64 {
        (0..COEFFICIENTS).map(|i| 2.0 * self.root[i][i].ln()).sum()
    }

    /// `L⁻¹·x`.
    pub fn forward(&self, x: &Column) -> Column {
        forward(&self.root, x)
    }

    /// `A⁻¹·x`.
    pub fn solve(&self, x: &Column) -> Column {
        backward(&self.root, &forward(&self.root, x))
    }

    /// The inverse of the matrix; `None` if its numbers are too extreme.
    pub fn inverse(&self) -> Option<Square> {
        inverse(&self.matrix).map(|found| found.0)
    }
}
