//! How probable the benches are, given how much benches differ. docs/model.md, "Many benches".

use super::square::{Root, ZERO, add_outer, even, plus, times_turned};
use super::symmetric::{Column, dot, times};
use super::told::Told;
use crate::model::mixed::in_ranges;
use crate::model::swell::beliefs::{COEFFICIENTS, Square};
use std::ops::Range;

/// Benches that are summed by one thread at a time. The sums are added in order, so that they do not
/// depend on the cores.
const TOGETHER: usize = 64;

/// One bench given T: with `N = E + F·T·Fᵀ = R·Rᵀ`, `H = R⁻¹·F` and `ζ = R⁻¹·ω`.
///
/// Its precision for the means is `Q = Hᵀ·H`, which is (T + V)⁻¹ where V = I⁻¹ exists.
#[derive(Clone, Debug)]
pub(super) struct Given {
    pub rows: Vec<Column>,
    pub found: Vec<f64>,
    /// `log|N|`.
    pub log_determinant: f64,
}

impl Given {
    /// With T = `root·rootᵀ`.
    pub fn new(told: &Told, root: &Square) -> Self {
        let count = told.rows.len();
        let turned: Vec<Column> = told
            .rows
            .iter()
            .map(|row| {
                std::array::from_fn(|j| (j..COEFFICIENTS).map(|i| row[i] * root[i][j]).sum())
            })
            .collect();
        let mut given =
            Self { rows: told.rows.clone(), found: told.found.clone(), log_determinant: 0.0 };
        let mut factor = ZERO;
        for i in 0..count {
            for j in 0..=i {
                let own = dot(&turned[i], &turned[j]) + f64::from(u8::from(i == j));
                let left = own - dot(&factor[i], &factor[j]);
                factor[i][j] = if i > j { left / factor[j][j] } else { left.sqrt() };
            }
            let (before, rest) = given.rows.split_at_mut(i);
            for (row, share) in before.iter().zip(&factor[i]) {
                (0..COEFFICIENTS).for_each(|k| rest[0][k] -= share * row[k]);
            }
            let known: f64 = given.found[..i].iter().zip(&factor[i]).map(|(z, l)| z * l).sum();
            rest[0].iter_mut().for_each(|value| *value /= factor[i][i]);
            given.found[i] = (given.found[i] - known) / factor[i][i];
            given.log_determinant += 2.0 * factor[i][i].ln();
        }
        given
    }

    /// Q.
    pub fn precision(&self) -> Square {
        let mut sum = ZERO;
        self.rows.iter().for_each(|row| add_outer(&mut sum, 1.0, row));
        sum
    }

    /// `ζ − H·μ`: how far the bench is from the means, with unit variance each.
    pub fn residual(&self, means: &Column) -> Vec<f64> {
        self.rows.iter().zip(&self.found).map(|(row, z)| z - dot(row, means)).collect()
    }

    /// The squared distance from the means, `(ω − Fμ)ᵀ·N⁻¹·(ω − Fμ)`.
    pub fn distance(&self, means: &Column) -> f64 {
        self.residual(means).iter().map(|z| z * z).sum()
    }

    /// Hᵀ times a number for each row.
    pub fn turned(&self, each: &[f64]) -> Column {
        let mut sum = [0.0; COEFFICIENTS];
        for (row, x) in self.rows.iter().zip(each) {
            (0..COEFFICIENTS).for_each(|i| sum[i] += row[i] * x);
        }
        sum
    }

    /// `s·sᵀ − Q + Q·A⁻¹·Q`, twice the slope of its log density against T, with s the score and
    /// L⁻¹ of A = L·Lᵀ.
    pub fn slope(&self, means: &Column, precision: &Root) -> Square {
        let score = self.turned(&self.residual(means));
        let mut sum = ZERO;
        add_outer(&mut sum, 1.0, &score);
        let known: Vec<Column> = self.rows.iter().map(|row| precision.forward(row)).collect();
        let count = self.rows.len();
        let mut inner = vec![0.0; count * count];
        for i in 0..count {
            for j in 0..count {
                inner[i * count + j] = dot(&known[i], &known[j]) - f64::from(u8::from(i == j));
            }
        }
        for (i, row) in self.rows.iter().enumerate() {
            let through = self.turned(&inner[i * count..(i + 1) * count]);
            for (a, left) in row.iter().enumerate() {
                (0..COEFFICIENTS).for_each(|b| sum[a][b] += left * through[b]);
            }
        }
        sum
    }
}

/// Benches with their weights.
#[derive(Clone, Copy)]
pub(super) struct Benches<'a> {
    pub told: &'a [Told],
    pub weights: &'a [f64],
}

/// Sums over benches given T.
pub(super) struct Together {
    pub given: Vec<Given>,
    /// Σφ·Q, and what is believed of the means: A.
    pub precision: Root,
    /// The means that are most probable.
    pub means: Column,
    /// The log density of the benches, the means integrated over.
    pub log_density: f64,
}

impl Together {
    /// What is believed of the means is N(0, prior⁻¹); `None` where they stay open.
    pub fn of(given: Vec<Given>, weights: &[f64], prior: &Square) -> Option<Self> {
        let (mut sum, mut weighted) = (*prior, [0.0; COEFFICIENTS]);
        for (one, &weight) in given.iter().zip(weights) {
            one.rows.iter().for_each(|row| add_outer(&mut sum, weight, row));
            let turned = one.turned(&one.found);
            (0..COEFFICIENTS).for_each(|i| weighted[i] += weight * turned[i]);
        }
        let precision = Root::of(sum)?;
        let means = precision.solve(&weighted);
        let each = given.iter().zip(weights);
        let squares: f64 =
            each.map(|(one, weight)| weight * (one.log_determinant + one.distance(&means))).sum();
        let believed = dot(&means, &times(prior, &means));
        let log_density = -0.5 * (squares + believed + precision.log_determinant());
        Some(Self { given, precision, means, log_density })
    }
}

impl Benches<'_> {
    /// Every bench given T.
    pub fn given(&self, root: &Square) -> Vec<Given> {
        let some = |range: Range<usize>| -> Vec<Given> {
            self.told[range].iter().map(|told| Given::new(told, root)).collect()
        };
        self.in_chunks(some).concat()
    }

    /// Their sums given T.
    pub fn at(&self, root: &Square, prior: &Square) -> Option<Together> {
        Together::of(self.given(root), self.weights, prior)
    }

    /// Twice the slope of the log density against T: `Σφ·(s·sᵀ − Q + Q·A⁻¹·Q)`.
    pub fn slope(&self, together: &Together) -> Square {
        let part = |range: Range<usize>| {
            let mut sum = ZERO;
            for (one, &weight) in together.given[range.clone()].iter().zip(&self.weights[range]) {
                let slope = one.slope(&together.means, &together.precision);
                sum = plus(&sum, weight, &slope);
            }
            sum
        };
        self.in_chunks(part).iter().fold(ZERO, |sum, part| plus(&sum, 1.0, part))
    }

    /// Work on so many benches at a time, on every core.
    fn in_chunks<T: Send>(&self, work: impl Fn(Range<usize>) -> T + Sync) -> Vec<T> {
        let range = |at: usize| at * TOGETHER..self.told.len().min((at + 1) * TOGETHER);
        let chunks = self.told.len().div_ceil(TOGETHER);
        in_ranges(chunks, |some| some.map(|at| work(range(at))).collect())
    }
}

/// T from its root.
pub(super) fn covariance(root: &Square) -> Square {
    times_turned(root, root)
}

/// The belief about the means that says nothing, with ones for what nobody says anything of.
pub(super) fn open(named: &[bool; COEFFICIENTS]) -> Square {
    let mut prior = even(1.0);
    (0..COEFFICIENTS).filter(|&i| named[i]).for_each(|i| prior[i][i] = 0.0);
    prior
}
