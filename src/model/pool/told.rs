//! What one bench's readings say, as so many measurements of its coefficients.

use super::error::PoolError;
use super::learnt::Learnt;
use super::square::{Vector, product};
use crate::model::swell::beliefs::{Beliefs, COEFFICIENTS, Coefficient, Square};

/// What is said of a direction counts as nothing under this share of what is believed of it.
const NOTHING: f64 = 1e-9;
/// The share of the largest information that is rounding.
const ROUNDING: f64 = 1e-12;
/// By this share of the largest information an indefinite matrix may be one that was rounded.
const ROUNDED: f64 = 1e-7;
/// Nobody's readings say a million million times as much as common practice, nor that a coefficient
/// is a million of its deviations away.
const MOST_INFORMATION: f64 = 1e12;
const MOST_WEIGHTED: f64 = 1e18;

/// The coefficients in units in which common practice is standard normal: `c = m + s·z`.
pub(super) struct Units {
    pub means: Vector,
    pub sds: Vector,
}

impl Units {
    /// Those of common practice.
    pub fn common() -> Self {
        let beliefs = Beliefs::default();
        Self {
            means: Coefficient::ALL.map(|name| beliefs.coefficient(name).mean),
            sds: Coefficient::ALL.map(|name| beliefs.coefficient(name).sd),
        }
    }

    /// A covariance of z as one of the coefficients.
    pub fn covariance(&self, of_z: &Square) -> Square {
        std::array::from_fn(|i| std::array::from_fn(|j| of_z[i][j] * (self.sds[i] * self.sds[j])))
    }

    /// z as coefficients.
    pub fn coefficients(&self, z: &Vector) -> Vector {
        std::array::from_fn(|i| self.means[i] + self.sds[i] * z[i])
    }
}

/// I = FᵀF and w = Fᵀω: as if every row of F times z had been measured once, with the standard
/// deviation one, and ω found.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Told {
    pub rows: Vec<Vector>,
    pub found: Vec<f64>,
}

impl Told {
    /// # Errors
    /// [`PoolError::Impossible`] where I is not positive semidefinite, or a number is not finite or
    /// beyond all reason.
    pub fn of(learnt: &Learnt, units: &Units, bench: usize) -> Result<Self, PoolError> {
        let (information, weighted) = in_units(learnt, units);
        let all = information.iter().flatten();
        let reasonable = all.clone().all(|value| value.abs() <= MOST_INFORMATION)
            && weighted.iter().all(|value| value.abs() <= MOST_WEIGHTED);
        let impossible = |why| Err(PoolError::Impossible { bench, why });
        if !reasonable {
            return impossible("it claims more than any readings can say");
        }
        let symmetric = (0..COEFFICIENTS).all(|i| {
            (0..i).all(|j| {
                let (a, b) = (information[i][j], information[j][i]);
                (a - b).abs() <= ROUNDED * (1.0 + a.abs() + b.abs())
            })
        });
        match Self::factorised(information, weighted) {
            Some(told) if symmetric => Ok(told),
            _ => impossible("its information is not that of any readings"),
        }
    }

    /// Cholesky's method that takes the largest pivot first, and ends where only rounding is left.
    fn factorised(mut left: Square, mut weighted: Vector) -> Option<Self> {
        let largest = |left: &Square| {
            (0..COEFFICIENTS).max_by(|&i, &j| left[i][i].total_cmp(&left[j][j])).unwrap_or(0)
        };
        let top = largest(&left);
        let top = left[top][top].max(0.0);
        let mut told = Self::default();
        while told.rows.len() < COEFFICIENTS {
            let at = largest(&left);
            let pivot = left[at][at];
            if !(pivot > NOTHING + ROUNDING * top) {
                break;
            }
            let root = pivot.sqrt();
            let row: Vector = std::array::from_fn(|i| left[at][i] / root);
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

    /// Whether it says anything of a coefficient.
    pub fn names(&self, coefficient: usize) -> bool {
        self.rows.iter().any(|row| row[coefficient] != 0.0)
    }
}

/// I and w of z.
fn in_units(learnt: &Learnt, units: &Units) -> (Square, Vector) {
    let own = &learnt.information;
    let information =
        std::array::from_fn(|i| std::array::from_fn(|j| own[i][j] * (units.sds[i] * units.sds[j])));
    let at_means: Vector = std::array::from_fn(|i| product(&own[i], &units.means));
    let weighted = std::array::from_fn(|i| (learnt.weighted[i] - at_means[i]) * units.sds[i]);
    (information, weighted)
}
