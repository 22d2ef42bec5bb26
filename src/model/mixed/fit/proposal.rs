//! Where draws of the spreads come from: folded Student-t distributions on Sobol points, and some
//! from the beliefs.

use crate::model::mixed::SpreadPrior;
use crate::model::mixed::algebra::logarithms::LogSum;
use sobol::Sobol;
use sobol::params::JoeKuoD6;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// Degrees of freedom: heavy enough tails for any posterior met, light enough to waste few draws.
const FREEDOM: f64 = 6.0;
/// Γ(7/2)/(Γ(3)·√(6π)) = 15/(16·√6), the height of the Student-t(6) density at zero.
const HEIGHT: f64 = 0.382_732_772_309_871_6;
/// log of √(2/π), the height of the standard half-normal density at zero.
const LOG_HALF_NORMAL: f64 = -0.225_791_352_644_727_44;

/// `|centre + scale·T|`, T Student-t with six degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FoldedT {
    pub centre: f64,
    pub scale: f64,
}

impl FoldedT {
    /// The draw at the standard quantile `t`.
    pub fn at(self, t: f64) -> f64 {
        (self.centre + self.scale * t).abs()
    }

    /// Density at `x ≥ 0`: both halves of the fold.
    pub fn density(self, x: f64) -> f64 {
        // To the power −7/2, which is −(degrees of freedom + 1)/2.
        let standard = |t: f64| {
            let base = 1.0 + t * t / FREEDOM;
            HEIGHT / (base * base * base * base.sqrt())
        };
        let near = standard((x - self.centre) / self.scale);
        let far = standard((x + self.centre) / self.scale);
        (near + far) / self.scale
    }
}

/// Of every so many points one is drawn from the beliefs, so that no region they allow is left to
/// the tails of the others (a defensive mixture; Hesterberg 1995, Technometrics 37).
const DEFENSIVE: usize = 8;

/// What draws are made from: a product of folded Student-t distributions, and the beliefs.
#[derive(Clone, Debug)]
pub(crate) struct Proposal {
    near: Vec<FoldedT>,
    /// Whether the beliefs are distributions, which draws can come from.
    defensive: bool,
}

impl Proposal {
    /// Around a mode, under these beliefs.
    pub fn new(near: Vec<FoldedT>, priors: &[SpreadPrior]) -> Self {
        Self { near, defensive: priors.iter().all(|prior| prior.is_proper()) }
    }

    /// Moves each spread's distribution to the weighted mean and standard deviation of points.
    pub fn follow(&mut self, points: &[Vec<f64>], weights: &[f64]) {
        for (near, (centre, sd)) in self.near.iter_mut().zip(moments(points, weights)) {
            *near = FoldedT { centre, scale: sd };
        }
    }

    /// Points from `count` standard ones, in units of each spread's scale.
    pub fn points(&self, count: usize) -> Vec<Vec<f64>> {
        let dimensions = self.near.len();
        let near = standard_draws(count, dimensions).into_iter().map(|standard| {
            self.near.iter().zip(standard).map(|(one, t)| one.at(t)).collect::<Vec<_>>()
        });
        let wide = if self.defensive { count / DEFENSIVE } else { 0 };
        near.chain(half_normal_draws(wide, dimensions)).collect()
    }

    /// Log density of the whole mixture.
    pub fn log_density(&self, x: &[f64]) -> f64 {
        self.log_density_of(self.near.iter().zip(x))
    }

    /// Log density of all coordinates but `left_out`, whatever that one is: both parts of the
    /// mixture are products.
    pub fn log_density_without(&self, left_out: usize, x: &[f64]) -> f64 {
        let all = self.near.iter().zip(x).enumerate();
        self.log_density_of(all.filter(|(at, _)| *at != left_out).map(|(_, each)| each))
    }

    fn log_density_of<'a>(&self, each: impl Iterator<Item = (&'a FoldedT, &'a f64)>) -> f64 {
        let (mut near, mut squares, mut count) = (LogSum::new(), 0.0, 0.0);
        for (one, &x) in each {
            near.add(&[one.density(x)]);
            squares += x * x;
            count += 1.0;
        }
        let [near] = near.value();
        if !self.defensive {
            return near;
        }
        let wide = count * LOG_HALF_NORMAL - 0.5 * squares;
        let share = 1.0 / (1.0 + DEFENSIVE as f64);
        let top = near.max(wide);
        top + ((1.0 - share) * (near - top).exp() + share * (wide - top).exp()).ln()
    }
}

/// The weighted mean and standard deviation of each coordinate of points.
pub(crate) fn moments<P: AsRef<[f64]>>(points: &[P], weights: &[f64]) -> Vec<(f64, f64)> {
    let average = |of: &dyn Fn(&[f64]) -> f64| -> f64 {
        points.iter().zip(weights).map(|(x, w)| w * of(x.as_ref())).sum()
    };
    let each = (0..points.first().map_or(0, |x| x.as_ref().len())).map(|k| {
        let mean = average(&|x| x[k]);
        (mean, average(&|x| (x[k] - mean) * (x[k] - mean)).sqrt().max(f64::MIN_POSITIVE))
    });
    each.collect()
}

/// Standard Student-t(6) quantiles at `count` Sobol points of `dimensions` dimensions; `count`
/// is a power of two.
///
/// The first 2^m Sobol points hold each multiple of 2^−m once in every dimension; they are moved
/// to the middles of their cells, so that no point is at zero and the quantiles are a short table.
pub(crate) fn standard_draws(count: usize, dimensions: usize) -> Vec<Vec<f64>> {
    let cells = count as f64;
    let table = quantiles(count);
    sobol_points(count, dimensions)
        .map(|point| point.iter().map(|u| table[(u * cells) as usize]).collect())
        .collect()
}

/// The first `count` Sobol points (direction numbers of Joe and Kuo, 2008).
pub(crate) fn sobol_points(count: usize, dimensions: usize) -> impl Iterator<Item = Vec<f64>> {
    Sobol::<f64>::new(dimensions, &JoeKuoD6::minimal()).take(count)
}

/// Standard half-normal quantiles at `count` Sobol points, moved to the middles of their cells.
fn half_normal_draws(count: usize, dimensions: usize) -> Vec<Vec<f64>> {
    let Ok(normal) = Normal::new(0.0, 1.0) else { unreachable!("the standard normal is allowed") };
    let cells = count as f64;
    let at = |u: &f64| normal.inverse_cdf(0.5 + 0.5 * ((u * cells).floor() + 0.5) / cells);
    sobol_points(count, dimensions).map(|point| point.iter().map(at).collect()).collect()
}

fn quantiles(count: usize) -> Vec<f64> {
    let Ok(student) = StudentsT::new(0.0, 1.0, FREEDOM) else {
        unreachable!("six degrees of freedom are allowed")
    };
    let half: Vec<f64> = (0..count.div_ceil(2))
        .map(|cell| student.inverse_cdf((cell as f64 + 0.5) / count as f64))
        .collect();
    let mirrored = half.iter().rev().skip(count % 2).map(|t| -t);
    half.iter().copied().chain(mirrored).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of a reference table (tests/reference/SOURCE.md says whose), without the header.
    fn rows(text: &str) -> Vec<Vec<f64>> {
        let numbers = |line: &str| line.split(',').map(|field| field.parse().unwrap()).collect();
        text.lines().skip(1).map(numbers).collect()
    }

    /// Sobol coordinates are dyadic fractions: nothing is rounded and they are equal.
    #[test]
    fn sobol_points_are_those_of_another_library() {
        let theirs = rows(include_str!("../../../../tests/reference/sobol_scipy.csv"));
        assert_eq!(theirs.len(), 64);
        let ours: Vec<Vec<f64>> = sobol_points(theirs.len(), theirs[0].len()).collect();
        assert_eq!(ours, theirs);
    }

    /// Ten digits of the quantile: a draw needs no more, the weights see the draw that was made.
    #[test]
    fn student_quantiles_are_those_of_another_library() {
        let text = include_str!("../../../../tests/reference/student_t_scipy.csv");
        let student = StudentsT::new(0.0, 1.0, FREEDOM).unwrap();
        let six: Vec<_> = rows(text).into_iter().filter(|row| row[0] == FREEDOM).collect();
        assert!(six.len() >= 8);
        for row in six {
            let (ours, theirs) = (student.inverse_cdf(row[1]), row[2]);
            assert!((ours - theirs).abs() <= 1e-10 * (1.0 + theirs.abs()), "{row:?}: {ours}");
        }
        // The table stands at the middles of its cells: of ten, at 0.05, 0.15 and so on to 0.95.
        let table = quantiles(10);
        assert_eq!((table[0], table[2]), (student.inverse_cdf(0.05), student.inverse_cdf(0.25)));
        assert_eq!((table[9], table[7]), (-table[0], -table[2]));
        assert!(table.windows(2).all(|pair| pair[0] < pair[1]));
    }

    /// The density that the weights divide by is the one that is drawn from: it integrates to one
    /// over x ≥ 0, folded wherever its centre is (the midpoint rule, to its error of 1e-6).
    #[test]
    fn the_folded_density_integrates_to_one() {
        for (centre, scale) in [(0.0, 1.0), (0.7, 0.5), (3.0, 0.2)] {
            let folded = FoldedT { centre, scale };
            let step = 1e-3;
            let density = |i: u32| folded.density((f64::from(i) + 0.5) * step);
            let sum: f64 = (0..60_000).map(density).sum();
            assert!((sum * step - 1.0).abs() < 1e-6, "{centre} {scale}: {}", sum * step);
        }
    }
}
