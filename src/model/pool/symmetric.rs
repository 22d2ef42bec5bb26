//! Symmetric matrices of the coefficients: Cholesky factors and eigenvalues.

use crate::model::swell::beliefs::{COEFFICIENTS, Square, square};

pub(in crate::model) type Column = [f64; COEFFICIENTS];

/// Most sweeps. A dozen is enough for matrices of this size, because the last ones square what is
/// left off the diagonal.
const SWEEPS: usize = 60;

/// `A = Σ value·vector·vectorᵀ`, the vectors orthonormal.
#[derive(Clone, Debug)]
pub(in crate::model) struct Eigen {
    pub values: Column,
    /// One vector per row.
    pub vectors: Square,
}

impl Eigen {
    /// Decomposes a symmetric matrix of finite numbers, by Jacobi's rotations.
    pub fn of(matrix: &Square) -> Self {
        let mut a = *matrix;
        let mut vectors = even(1.0);
        for _ in 0..SWEEPS {
            let mut rotated = false;
            for p in 0..COEFFICIENTS {
                for q in p + 1..COEFFICIENTS {
                    rotated |= rotate(&mut a, &mut vectors, p, q);
                }
            }
            if !rotated {
                break;
            }
        }
        Self { values: std::array::from_fn(|at| a[at][at]), vectors }
    }

    /// The matrix with these vectors and the given values.
    pub fn with_values(&self, values: &Column) -> Square {
        let mut matrix = [[0.0; COEFFICIENTS]; COEFFICIENTS];
        for (value, vector) in values.iter().zip(&self.vectors) {
            for at in 0..COEFFICIENTS {
                for to in 0..=at {
                    matrix[at][to] += value * vector[at] * vector[to];
                }
            }
        }
        mirrored(matrix)
    }
}

/// Copies the lower triangle into the upper one.
pub(in crate::model) fn mirrored(matrix: Square) -> Square {
    square(|at, to| matrix[at.max(to)][at.min(to)])
}

/// The identity matrix times a number.
pub(super) fn even(value: f64) -> Square {
    square(|i, j| if i == j { value } else { 0.0 })
}

/// Rotates the plane of p and q so that element (p, q) becomes zero; `false` if it was zero
/// already. Source: Golub and Van Loan, *Matrix Computations*, 8.5 (from memory).
fn rotate(a: &mut Square, vectors: &mut Square, p: usize, q: usize) -> bool {
    let beside = a[p][q];
    // An element that is lost in the rounding of both diagonals counts as zero.
    if beside == 0.0 || beside.abs() <= f64::EPSILON * (a[p][p].abs() * a[q][q].abs()).sqrt() {
        return false;
    }
    let half = (a[q][q] - a[p][p]) / (2.0 * beside);
    let t = half.signum() / (half.abs() + half.hypot(1.0));
    let cosine = t.hypot(1.0).recip();
    let sine = t * cosine;
    let turned = |x: f64, y: f64| (cosine * x - sine * y, sine * x + cosine * y);
    for row in a.iter_mut() {
        (row[p], row[q]) = turned(row[p], row[q]);
    }
    for matrix in [&mut *a, vectors] {
        let (x, y) = (matrix[p], matrix[q]);
        for (at, (x, y)) in x.into_iter().zip(y).enumerate() {
            (matrix[p][at], matrix[q][at]) = turned(x, y);
        }
    }
    a[p][q] = 0.0;
    a[q][p] = 0.0;
    true
}

pub(in crate::model) fn dot(a: &Column, b: &Column) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

pub(in crate::model) fn times(matrix: &Square, column: &Column) -> Column {
    matrix.map(|row| dot(&row, column))
}

/// Lower L with `L·Lᵀ` the matrix; `None` if it is not positive definite.
pub(in crate::model) fn cholesky(matrix: &Square) -> Option<Square> {
    let mut root = [[0.0; COEFFICIENTS]; COEFFICIENTS];
    for at in 0..COEFFICIENTS {
        for to in 0..at {
            root[at][to] = (matrix[at][to] - dot(&root[at], &root[to])) / root[to][to];
        }
        let square = matrix[at][at] - dot(&root[at], &root[at]);
        // NaN is refused too.
        if square.is_nan() || square <= 0.0 {
            return None;
        }
        root[at][at] = square.sqrt();
    }
    Some(root)
}

/// `L⁻¹·x`.
pub(in crate::model) fn forward(root: &Square, x: &Column) -> Column {
    let mut z = [0.0; COEFFICIENTS];
    for at in 0..COEFFICIENTS {
        z[at] = (x[at] - dot(&root[at], &z)) / root[at][at];
    }
    z
}

/// `L⁻ᵀ·x`.
pub(in crate::model) fn backward(root: &Square, x: &Column) -> Column {
    let mut z = [0.0; COEFFICIENTS];
    for at in (0..COEFFICIENTS).rev() {
        let known: f64 = (at + 1..COEFFICIENTS).map(|to| root[to][at] * z[to]).sum();
        z[at] = (x[at] - known) / root[at][at];
    }
    z
}

/// Applies `of` to every row, and then to every column, of a symmetric matrix.
pub(in crate::model) fn both_sides(matrix: &Square, of: impl Fn(&Column) -> Column) -> Square {
    let half = matrix.map(|row| of(&row));
    mirrored(std::array::from_fn(|at| of(&half.map(|row| row[at]))))
}

/// The inverse and the log determinant of a matrix; `None` if it is not positive definite.
pub(in crate::model) fn inverse(matrix: &Square) -> Option<(Square, f64)> {
    let root = cholesky(matrix)?;
    let inverse = even(1.0).map(|unit| backward(&root, &forward(&root, &unit)));
    let log: f64 = (0..COEFFICIENTS).map(|at| root[at][at].ln()).sum();
    Some((mirrored(inverse), 2.0 * log))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Second differences with both ends fixed.
    fn differences() -> Square {
        square(|at, to| match at.abs_diff(to) {
            0 => 2.0,
            1 => -1.0,
            _ => 0.0,
        })
    }

    fn close(found: &Square, wanted: &Square) {
        for (row, wanted) in found.iter().zip(wanted) {
            row.iter().zip(wanted).for_each(|(x, y)| assert!((x - y).abs() < 1e-13, "{x} {y}"));
        }
    }

    /// The eigenvalues are `2 − 2·cos(jπ/(n + 1))` (textbook, from memory).
    #[test]
    fn eigenvalues_of_second_differences() {
        let found = Eigen::of(&differences());
        let mut values = found.values;
        values.sort_unstable_by(f64::total_cmp);
        for (j, value) in values.into_iter().enumerate() {
            let angle = (j + 1) as f64 * std::f64::consts::PI / (COEFFICIENTS + 1) as f64;
            let wanted = 2.0 - 2.0 * angle.cos();
            assert!((value - wanted).abs() < 1e-14, "{j}: {value} {wanted}");
        }
        close(&found.with_values(&found.values), &differences());
    }

    /// The inverse has `min·(n + 1 − max)/(n + 1)` in row and column, counted from one, and the
    /// determinant is n + 1 (from memory).
    #[test]
    fn inverse_of_second_differences() {
        let (found, log) = inverse(&differences()).unwrap();
        let ends = (COEFFICIENTS + 1) as f64;
        let wanted =
            square(|at, to| (1 + at.min(to)) as f64 * (ends - (1 + at.max(to)) as f64) / ends);
        close(&found, &wanted);
        assert!((log - ends.ln()).abs() < 1e-13, "{log}");
        let mut other = differences();
        other[3][3] = 0.0;
        assert!(inverse(&other).is_none());
        other[3][3] = f64::NAN;
        assert!(inverse(&other).is_none());
    }
}
