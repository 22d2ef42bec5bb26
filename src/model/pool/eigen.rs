//! Eigenvalues of a symmetric matrix, by Jacobi's rotations.

use crate::model::swell::beliefs::{COEFFICIENTS, Square};

/// Sweeps at most; a dozen is plenty for matrices of this size, for the last ones square what is
/// left beside the diagonal.
const SWEEPS: usize = 60;

/// `A = Σ value·vector·vectorᵀ`, the vectors orthonormal.
#[derive(Clone, Debug)]
pub(in crate::model) struct Eigen {
    pub values: [f64; COEFFICIENTS],
    /// One vector in each row.
    pub vectors: Square,
}

impl Eigen {
    /// Of a symmetric matrix of finite numbers. Small eigenvalues of a matrix that is near a diagonal
    /// one keep their digits (Demmel and Veselić 1992, SIAM Journal on Matrix Analysis 13).
    pub fn of(matrix: &Square) -> Self {
        let mut a = *matrix;
        let mut vectors = identity();
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

    /// The matrix with these vectors and a function of the values.
    pub fn with_values(&self, of: impl Fn(f64) -> f64) -> Square {
        let mut matrix = [[0.0; COEFFICIENTS]; COEFFICIENTS];
        for (&value, vector) in self.values.iter().zip(&self.vectors) {
            let value = of(value);
            for at in 0..COEFFICIENTS {
                for to in 0..=at {
                    matrix[at][to] += value * vector[at] * vector[to];
                }
            }
        }
        mirrored(matrix)
    }
}

/// The lower triangle and its mirror image.
pub(in crate::model) fn mirrored(mut matrix: Square) -> Square {
    for at in 0..COEFFICIENTS {
        for to in at + 1..COEFFICIENTS {
            matrix[at][to] = matrix[to][at];
        }
    }
    matrix
}

pub(in crate::model) fn identity() -> Square {
    std::array::from_fn(|at| std::array::from_fn(|to| f64::from(u8::from(at == to))))
}

/// Turns the plane of p and q so that nothing is left at (p, q); `false` where nothing was there.
/// Source: Golub and Van Loan, "Matrix Computations", 8.5 (from memory).
fn rotate(a: &mut Square, vectors: &mut Square, p: usize, q: usize) -> bool {
    let beside = a[p][q];
    // What does not change the product of the two in floating point is nothing.
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
    for (matrix, at) in [(&mut *a, 0), (vectors, 0)] {
        for column in at..COEFFICIENTS {
            let (x, y) = turned(matrix[p][column], matrix[q][column]);
            (matrix[p][column], matrix[q][column]) = (x, y);
        }
    }
    a[p][q] = 0.0;
    a[q][p] = 0.0;
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Second differences with ends held have eigenvalues `2 − 2·cos(jπ/(n + 1))` (textbook).
    #[test]
    fn eigenvalues_of_second_differences() {
        let matrix: Square = std::array::from_fn(|at| {
            std::array::from_fn(|to| match at.abs_diff(to) {
                0 => 2.0,
                1 => -1.0,
                _ => 0.0,
            })
        });
        let found = Eigen::of(&matrix);
        let mut values = found.values;
        values.sort_unstable_by(f64::total_cmp);
        for (j, value) in values.into_iter().enumerate() {
            let angle = (j + 1) as f64 * std::f64::consts::PI / (COEFFICIENTS + 1) as f64;
            let wanted = 2.0 - 2.0 * angle.cos();
            assert!((value - wanted).abs() < 1e-14, "{j}: {value} {wanted}");
        }
        let again = found.with_values(|value| value);
        for (row, wanted) in again.iter().zip(&matrix) {
            row.iter().zip(wanted).for_each(|(x, y)| assert!((x - y).abs() < 1e-14));
        }
    }
}
