//! How probable the benches are, given how much benches differ. docs/model.md, "Many benches".

use super::square::{Root, Vector, ZERO, even, plus, product, times, times_turned};
use super::told::Told;
use crate::model::mixed::in_ranges;
use crate::model::swell::beliefs::{COEFFICIENTS, Square};

/// Benches that are summed by one thread at a time. The sums are added in order, so that they do not
/// depend on the cores.
const TOGETHER: usize = 64;

/// One bench given T: with `N = E + F·T·Fᵀ = R·Rᵀ`, `H = R⁻¹·F` and `ζ = R⁻¹·ω`.
///
/// Its precision for the means is `Q = Hᵀ·H`, which is (T + V)⁻¹ where V = I⁻¹ exists.
#[derive(Clone, Debug)]
pub(super) struct Given {
    pub rows: Vec<Vector>,
    pub found: Vec<f64>,
    /// `log|N|`.
    pub log_determinant: f64,
}

impl Given {
    /// With T = `root·rootᵀ`.
    pub fn new(told: &Told, root: &Square) -> Self {
        let count = told.rows.len();
        let turned: Vec<Vector> = told
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
                let own = product(&turned[i], &turned[j]) + f64::from(u8::from(i == j));
                let left = own - product(&factor[i], &factor[j]);
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
    pub fn residual(&self, means: &Vector) -> Vec<f64> {
        self.rows.iter().zip(&self.found).map(|(row, z)| z - product(row, means)).collect()
    }

    /// The squared distance from the means, `(ω − Fμ)ᵀ·N⁻¹·(ω − Fμ)`.
    pub fn distance(&self, means: &Vector) -> f64 {
        self.residual(means).iter().map(|z| z * z).sum()
    }

    /// Hᵀ times a number for each row.
    pub fn turned(&self, each: &[f64]) -> Vector {
        let mut sum = [0.0; COEFFICIENTS];
        for (row, x) in self.rows.iter().zip(each) {
            (0..COEFFICIENTS).for_each(|i| sum[i] += row[i] * x);
        }
        sum
    }

    /// `s·sᵀ − Q + Q·A⁻¹·Q`, twice the slope of its log density against T, with s the score and
    /// L⁻¹ of A = L·Lᵀ.
    pub fn slope(&self, means: &Vector, precision: &Root) -> Square {
        let score = self.turned(&self.residual(means));
        let mut sum = ZERO;
        add_outer(&mut sum, 1.0, &score);
        let known: Vec<Vector> = self.rows.iter().map(|row| precision.forward(row)).collect();
        let count = self.rows.len();
        let mut inner = vec![0.0; count * count];
        for i in 0..count {
            for j in 0..count {
                inner[i * count + j] = product(&known[i], &known[j]) - f64::from(u8::from(i == j));
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

/// Adds `share·x·xᵀ`.
pub(super) fn add_outer(sum: &mut Square, share: f64, x: &Vector) {
    for (row, left) in sum.iter_mut().zip(x) {
        (0..COEFFICIENTS).for_each(|j| row[j] += share * left * x[j]);
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
    /// Σφ·Q, and what is believed of the means.
    pub precision: Root,
    /// The means that are most probable.
    pub means: Vector,
    /// The log density of the benches, the means integrated over.
    pub log_density: f64,
}

#[derive(Clone)]
struct Sums {
    precision: Square,
    weighted: Vector,
    log_determinant: f64,
}

impl Benches<'_> {
    /// What is believed of the means is N(0, prior⁻¹); `None` where they stay open.
    pub fn at(&self, root: &Square, prior: &Square) -> Option<Together> {
        let chunks = self.told.len().div_ceil(TOGETHER);
        let parts = in_ranges(chunks, |range| range.map(|chunk| self.part(root, chunk)).collect());
        let mut given = Vec::with_capacity(self.told.len());
        let mut all =
            Sums { precision: *prior, weighted: [0.0; COEFFICIENTS], log_determinant: 0.0 };
        for (sums, some) in parts {
            all.precision = plus(&all.precision, 1.0, &sums.precision);
            (0..COEFFICIENTS).for_each(|i| all.weighted[i] += sums.weighted[i]);
            all.log_determinant += sums.log_determinant;
            given.extend(some);
        }
        let precision = Root::of(&all.precision)?;
        let means = precision.solve(&all.weighted);
        let squares: f64 =
            given.iter().zip(self.weights).map(|(one, weight)| weight * one.distance(&means)).sum();
        let squares = squares + product(&means, &times(prior, &means));
        let log_density = -0.5 * (all.log_determinant + squares + precision.log_determinant());
        Some(Together { given, precision, means, log_density })
    }

    fn part(&self, root: &Square, chunk: usize) -> (Sums, Vec<Given>) {
        let range = chunk * TOGETHER..self.told.len().min((chunk + 1) * TOGETHER);
        let mut sums =
            Sums { precision: ZERO, weighted: [0.0; COEFFICIENTS], log_determinant: 0.0 };
        let mut given = Vec::with_capacity(range.len());
        for (told, &weight) in self.told[range.clone()].iter().zip(&self.weights[range]) {
            let one = Given::new(told, root);
            one.rows.iter().for_each(|row| add_outer(&mut sums.precision, weight, row));
            let turned = one.turned(&one.found);
            (0..COEFFICIENTS).for_each(|i| sums.weighted[i] += weight * turned[i]);
            sums.log_determinant += weight * one.log_determinant;
            given.push(one);
        }
        (sums, given)
    }

    /// Twice the slope of the log density against T: `Σφ·(s·sᵀ − Q + Q·A⁻¹·Q)`.
    pub fn slope(&self, together: &Together) -> Square {
        let chunks = self.told.len().div_ceil(TOGETHER);
        let parts = in_ranges(chunks, |range| {
            let part = |chunk: usize| {
                let range = chunk * TOGETHER..self.told.len().min((chunk + 1) * TOGETHER);
                let mut sum = ZERO;
                for (one, &weight) in together.given[range.clone()].iter().zip(&self.weights[range])
                {
                    sum = plus(&sum, weight, &one.slope(&together.means, &together.precision));
                }
                sum
            };
            range.map(part).collect()
        });
        parts.iter().fold(ZERO, |sum, part| plus(&sum, 1.0, part))
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
