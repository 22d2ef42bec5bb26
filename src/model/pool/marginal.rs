//! How probable the benches are, given how much they differ. docs/model.md, "Many benches".

use super::square::{Root, ZERO, add_outer, plus};
use super::symmetric::{Column, dot, even, times};
use super::told::Told;
use crate::model::swell::beliefs::{COEFFICIENTS, Square};
use crate::units::in_ranges;
use std::ops::Range;

/// Benches that one thread sums at a time. The partial sums are added in order, so the result does
/// not depend on the number of cores.
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
    /// For T = `root·rootᵀ`.
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

    /// `ζ − H·μ`: how far the bench is from the means, with unit variance in each row.
    pub fn residual(&self, means: &Column) -> Vec<f64> {
        self.rows.iter().zip(&self.found).map(|(row, z)| z - dot(row, means)).collect()
    }

    /// The squared distance from the means, `(ω − Fμ)ᵀ·N⁻¹·(ω − Fμ)`.
    pub fn distance(&self, means: &Column) -> f64 {
        self.residual(means).iter().map(|z| z * z).sum()
    }

    /// Hᵀ times one number per row.
    pub fn turned(&self, each: &[f64]) -> Column {
        let mut sum = [0.0; COEFFICIENTS];
        for (row, x) in self.rows.iter().zip(each) {
            (0..COEFFICIENTS).for_each(|i| sum[i] += row[i] * x);
        }
        sum
    }

    /// `s·sᵀ − Q + Q·A⁻¹·Q`, twice the slope of the bench's log density against T, with s its
    /// score. `precision` is A.
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

#[derive(Clone, Copy)]
pub(super) struct Benches<'a> {
    pub told: &'a [Told],
    pub weights: &'a [f64],
}

/// Sums over benches given T.
pub(super) struct Together {
    pub given: Vec<Given>,
    /// A: Σφ·Q plus the believed precision of the means.
    pub precision: Root,
    /// The most probable means.
    pub means: Column,
    /// The log density of the benches, with the means integrated out.
    pub log_density: f64,
}

impl Together {
    /// The belief about the means is N(0, prior⁻¹). `None` if they stay undetermined.
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

    /// Runs `work` on a number of benches at a time, on every core.
    fn in_chunks<T: Send>(&self, work: impl Fn(Range<usize>) -> T + Sync) -> Vec<T> {
        let range = |at: usize| at * TOGETHER..self.told.len().min((at + 1) * TOGETHER);
        let chunks = self.told.len().div_ceil(TOGETHER);
        in_ranges(chunks, |some| some.map(|at| work(range(at))).collect())
    }
}

/// A prior precision of the means: zero for the named coefficients, and one for the others.
pub(super) fn open(named: &[bool; COEFFICIENTS]) -> Square {
    let mut prior = even(1.0);
    (0..COEFFICIENTS).filter(|&i| named[i]).for_each(|i| prior[i][i] = 0.0);
    prior
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::mixed::inverse;
    use crate::model::pool::site::Site;
    use crate::model::pool::symmetric::both_sides;

    const BENCHES: usize = 5;

    /// Pseudo-random numbers between −1 and 1.
    fn noise(seed: usize) -> f64 {
        (12.9898 * (seed as f64 + 1.0)).sin().mul_add(43_758.545_3, 0.0).fract()
    }

    /// A covariance, and its root.
    fn covariance_of(seed: usize, size: f64) -> Root {
        let root = |i: usize, j: usize| size * noise(seed + 31 * i + j);
        let mut sum = even(0.3 * size * size);
        for j in 0..COEFFICIENTS {
            add_outer(&mut sum, 1.0, &std::array::from_fn(|i| root(i, j)));
        }
        Root::of(sum).unwrap()
    }

    struct Bench {
        variance: Square,
        estimate: Column,
        told: Told,
    }

    fn bench(at: usize) -> Bench {
        let variance = covariance_of(1000 * at, 0.4);
        let estimate: Column = std::array::from_fn(|i| 2.0 * noise(77 * at + i));
        let information = variance.inverse().unwrap();
        let weighted = times(&information, &estimate);
        let told = Told::of(&Site { information, weighted }, at).unwrap();
        Bench { variance: *variance.matrix(), estimate, told }
    }

    /// All estimates as one normal vector with covariance blocks V + T, and a common mean believed
    /// to be N(0, prior⁻¹). Returns the log density, without what depends on the readings alone.
    fn dense(benches: &[Bench], apart: &Square, prior: f64) -> f64 {
        let size = BENCHES * COEFFICIENTS;
        let of = |row: usize, column: usize| {
            let (i, j) = (row % COEFFICIENTS, column % COEFFICIENTS);
            let common = if i == j { 1.0 / prior } else { 0.0 };
            let same = row / COEFFICIENTS == column / COEFFICIENTS;
            let own = benches[row / COEFFICIENTS].variance[i][j] + apart[i][j];
            common + if same { own } else { 0.0 }
        };
        let (precision, log) = inverse(size, of).unwrap();
        let y = |row: usize| benches[row / COEFFICIENTS].estimate[row % COEFFICIENTS];
        let mut squares = 0.0;
        for (row, values) in precision.iter().enumerate() {
            squares += values.iter().enumerate().map(|(at, p)| y(row) * p * y(at)).sum::<f64>();
        }
        // Without −½·Σlog|V|, and without |P₀| of the belief.
        let own: f64 =
            benches.iter().map(|one| Root::of(one.variance).unwrap().log_determinant()).sum();
        -0.5 * (log - own + squares + COEFFICIENTS as f64 * prior.ln())
    }

    #[test]
    fn eleven_coefficients_have_the_density_of_the_whole_vector() {
        let benches: Vec<Bench> = (0..BENCHES).map(bench).collect();
        let told: Vec<Told> = benches.iter().map(|one| one.told.clone()).collect();
        let weights = [1.0; BENCHES];
        for (seed, size) in [(3, 0.2), (4, 1.0), (5, 0.01)] {
            let apart = covariance_of(seed, size);
            let found =
                Benches { told: &told, weights: &weights }.at(apart.root(), &even(1.125)).unwrap();
            let wanted = dense(&benches, apart.matrix(), 1.125);
            let off = (found.log_density - wanted).abs();
            assert!(off < 1e-9 * wanted.abs(), "{} {wanted}", found.log_density);
        }
    }

    /// Steps T along a direction, both ways: the slope is right to the error of differences.
    #[test]
    fn slopes_are_those_of_small_steps() {
        const STEP: f64 = 1e-4;
        let benches: Vec<Bench> = (0..BENCHES).map(bench).collect();
        let told: Vec<Told> = benches.iter().map(|one| one.told.clone()).collect();
        let weights = [1.0, 0.4, 1.0, 0.9, 1.0];
        let benches = Benches { told: &told, weights: &weights };
        let (apart, along) = (covariance_of(3, 0.5), covariance_of(9, 0.5));
        let at = |share: f64| {
            let moved = Root::of(plus(apart.matrix(), share, along.matrix())).unwrap();
            benches.at(moved.root(), &even(1.125)).unwrap()
        };
        let slope = benches.slope(&at(0.0));
        let expected: f64 = (slope.iter().flatten().zip(along.matrix().iter().flatten()))
            .map(|(a, b)| 0.5 * a * b)
            .sum();
        let found = (at(STEP).log_density - at(-STEP).log_density) / (2.0 * STEP);
        assert!((found - expected).abs() < 1e-6 * expected.abs(), "{found} {expected}");
    }

    /// A bench that says nothing about some directions. Its density is compared with the form of
    /// the information matrix, which needs no inverse.
    #[test]
    fn singular_information_has_the_density_of_its_own_form() {
        let full = covariance_of(2, 1.0);
        // Nothing about the sum of the first two, nor about the last.
        let left = |x: &Column| {
            let mut y = *x;
            let middle = 0.5 * (x[0] + x[1]);
            (y[0], y[1], y[COEFFICIENTS - 1]) = (x[0] - middle, x[1] - middle, 0.0);
            y
        };
        let information = both_sides(full.matrix(), left);
        let estimate: Column = std::array::from_fn(noise);
        let weighted = times(&information, &estimate);
        let told = Told::of(&Site { information, weighted }, 0).unwrap();
        assert_eq!(told.rows.len(), COEFFICIENTS - 2);
        let (apart, means) = (covariance_of(5, 0.6), std::array::from_fn(|i| noise(50 + i)));
        let given = Given::new(&told, apart.root());
        let found = -0.5 * (given.log_determinant + given.distance(&means));
        // −½·log|M| + ½·(w − Iμ)ᵀL·M⁻¹·Lᵀ(w − Iμ) + wᵀμ − ½·μᵀIμ − ½·ωᵀω, M = E + LᵀIL.
        let root = apart.root();
        let turned = |x: &Column| -> Column {
            std::array::from_fn(|j| (0..COEFFICIENTS).map(|i| root[i][j] * x[i]).sum())
        };
        let middle = Root::of(plus(&even(1.0), 1.0, &both_sides(&information, turned))).unwrap();
        let at_means = times(&information, &means);
        let score = turned(&std::array::from_fn(|i| weighted[i] - at_means[i]));
        let own: f64 = told.found.iter().map(|value| value * value).sum();
        let wanted = -0.5 * middle.log_determinant()
            + 0.5 * dot(&score, &middle.solve(&score))
            + dot(&weighted, &means)
            - 0.5 * dot(&means, &at_means)
            - 0.5 * own;
        assert!((found - wanted).abs() < 1e-10 * wanted.abs(), "{found} {wanted}");
    }
}
