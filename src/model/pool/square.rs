//! Sums with matrices of the coefficients' size.

use crate::model::swell::beliefs::{COEFFICIENTS, Square};

/// A number for each coefficient.
pub(super) type Vector = [f64; COEFFICIENTS];

/// Nothing everywhere.
pub(super) const ZERO: Square = [[0.0; COEFFICIENTS]; COEFFICIENTS];

pub(super) fn product(a: &Vector, b: &Vector) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// The unit matrix times a number.
pub(super) fn even(value: f64) -> Square {
    std::array::from_fn(|i| std::array::from_fn(|j| if i == j { value } else { 0.0 }))
}

/// `a + share·b`.
pub(super) fn plus(a: &Square, share: f64, b: &Square) -> Square {
    std::array::from_fn(|i| std::array::from_fn(|j| a[i][j] + share * b[i][j]))
}

/// `A·x`.
pub(super) fn times(a: &Square, x: &Vector) -> Vector {
    std::array::from_fn(|i| product(&a[i], x))
}

/// `A·Bᵀ`.
pub(super) fn times_turned(a: &Square, b: &Square) -> Square {
    std::array::from_fn(|i| std::array::from_fn(|j| product(&a[i], &b[j])))
}

/// `A·B·A` of two symmetric ones.
pub(super) fn around(a: &Square, b: &Square) -> Square {
    times_turned(&times_turned(a, b), a)
}

/// A lower triangular L with `L·Lᵀ` a matrix.
#[derive(Clone, Debug)]
pub(super) struct Root(pub Square);

impl Root {
    /// `None` where the matrix is not positive definite.
    pub fn of(matrix: &Square) -> Option<Self> {
        let mut root = ZERO;
        for i in 0..COEFFICIENTS {
            for j in 0..=i {
                let left = matrix[i][j] - product(&root[i], &root[j]);
                root[i][j] = if i > j { left / root[j][j] } else { left.sqrt() };
            }
            if !(root[i][i] > 0.0 && root[i][i].is_finite()) {
                return None;
            }
        }
        Some(Self(root))
    }

    /// The logarithm of the matrix's determinant.
    pub fn log_determinant(&self) -> f64 {
        (0..COEFFICIENTS).map(|i| 2.0 * self.0[i][i].ln()).sum()
    }

    /// `L⁻¹·x`.
    pub fn forward(&self, x: &Vector) -> Vector {
        let mut z = [0.0; COEFFICIENTS];
        for i in 0..COEFFICIENTS {
            z[i] = (x[i] - product(&self.0[i], &z)) / self.0[i][i];
        }
        z
    }

    /// The inverse of the matrix.
    pub fn inverse(&self) -> Square {
        let unit = even(1.0);
        // Row i has L⁻¹·e_i.
        let columns: Square = std::array::from_fn(|i| self.forward(&unit[i]));
        times_turned(&columns, &columns)
    }

    /// `A⁻¹·x`.
    pub fn solve(&self, x: &Vector) -> Vector {
        let mut z = self.forward(x);
        for i in (0..COEFFICIENTS).rev() {
            let known: f64 = (i + 1..COEFFICIENTS).map(|k| self.0[k][i] * z[k]).sum();
            z[i] = (z[i] - known) / self.0[i][i];
        }
        z
    }
}
