//! Where draws of the spreads come from: for each spread a folded Student-t distribution mixed with
//! its belief, on Sobol points.

use super::params::VAGUE;
use crate::model::mixed::algebra::layout::Layout;
use crate::model::mixed::algebra::logarithms::LogSum;
use crate::units::in_ranges;
use sobol::Sobol;
use sobol::params::JoeKuoD6;
use statrs::function::erf::erf;
use std::f64::consts::{FRAC_1_SQRT_2, FRAC_2_PI};
use std::ops::Range;

/// Degrees of freedom: heavy enough tails for any posterior met, light enough to waste few draws.
const FREEDOM: f64 = 6.0;
/// Γ(7/2)/(Γ(3)·√(6π)) = 15/(16·√6), the height of the Student-t(6) density at zero.
const HEIGHT: f64 = 0.382_732_772_309_871_6;
/// The share of a spread's draws that comes from its belief, so that nothing it allows is left to
/// the tails of the other part (a defensive mixture; Hesterberg 1995, Technometrics 37). It is mixed
/// spread by spread: often one spread may still be large while the others are known. A longer book
/// knows the spreads of many levels sharply, and theirs is smaller; however long it is, n levels
/// leave a tail like x⁻ⁿ, against which that of the draws is x⁻⁷.
const DEFENSIVE: f64 = 0.1;
const DEFENSIVE_OF_FEW: f64 = 0.05;
const DEFENSIVE_OF_MANY: f64 = 0.001;
/// The most levels that are few.
const FEW_LEVELS: usize = 12;
/// Halvings of a ratio's interval: more digits than moments of draws have.
const HALVINGS: usize = 30;
/// Steps to a quantile at most, from the one before it; three or four are usual.
const STEPS: usize = 100;
/// How near the share below a quantile is to the share that was asked for.
const NEAR: f64 = 1e-13;

/// `|centre + scale·T|`, T Student-t with six degrees of freedom, or the absolute value of a standard
/// normal in a share `wide` of all draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Folded {
    pub centre: f64,
    pub scale: f64,
    pub wide: f64,
}

impl Folded {
    /// Density at `x ≥ 0`: both halves of the folds.
    pub fn density(self, x: f64) -> f64 {
        // To the power −7/2, which is −(degrees of freedom + 1)/2.
        let standard = |t: f64| {
            let base = 1.0 + t * t / FREEDOM;
            HEIGHT / (base * base * base * base.sqrt())
        };
        let near = standard((x - self.centre) / self.scale);
        let far = standard((x + self.centre) / self.scale);
        let normal = FRAC_2_PI.sqrt() * (-0.5 * x * x).exp();
        (1.0 - self.wide) * (near + far) / self.scale + self.wide * normal
    }

    /// The share below `x ≥ 0`.
    fn share_below(self, x: f64) -> f64 {
        let near = student((x - self.centre) / self.scale);
        let far = student((x + self.centre) / self.scale);
        (1.0 - self.wide) * 0.5 * (near + far) + self.wide * erf(x * FRAC_1_SQRT_2)
    }

    /// Quantiles at the middles of `count` even shares, in rising order.
    fn quantiles(self, count: usize) -> Vec<f64> {
        let mut low = 0.0;
        let one = |cell: usize| {
            low = self.quantile((cell as f64 + 0.5) / count as f64, low);
            low
        };
        (0..count).map(one).collect()
    }

    /// The quantile of a share, at least `low`: by Newton's method, and by halving where that leads
    /// out of the interval that holds it.
    fn quantile(self, share: f64, low: f64) -> f64 {
        let (mut low, mut high, mut x) = (low, f64::INFINITY, low);
        for _ in 0..STEPS {
            let off = self.share_below(x) - share;
            if off.abs() <= NEAR {
                return x;
            }
            *(if off < 0.0 { &mut low } else { &mut high }) = x;
            let farthest = 2.0 * x + self.centre + self.scale;
            let step = (x - off / self.density(x)).min(farthest);
            x = if step > low && step < high { step } else { 0.5 * (low + high.min(farthest)) };
        }
        x
    }
}

/// `P(|T| < t)` with the sign of t, T Student-t with six degrees of freedom (Abramowitz and Stegun
/// 26.7.4, with sin θ = t/√(6 + t²)).
fn student(t: f64) -> f64 {
    let cosine = FREEDOM / (FREEDOM + t * t);
    t / (FREEDOM + t * t).sqrt() * (1.0 + cosine * (0.5 + 0.375 * cosine))
}

/// What draws are made from: each spread by itself.
#[derive(Clone, Debug)]
pub(crate) struct Proposal(Vec<Folded>);

impl Proposal {
    /// Around these centres, with these scales, under the beliefs of a design. Draws come from
    /// beliefs only where they are distributions.
    pub fn new(near: impl Iterator<Item = (f64, f64)>, layout: &Layout) -> Self {
        let each = near.zip(&layout.priors).enumerate().map(|(k, ((centre, scale), prior))| {
            let wide = if prior.is_proper() { defensive(layout, k) } else { 0.0 };
            Folded { centre, scale, wide }
        });
        Self(each.collect())
    }

    /// Moves each spread's distribution to the folded normal that has the weighted moments of the
    /// points.
    pub fn follow(&mut self, points: &[Vec<f64>], weights: &[f64]) {
        for (folded, (mean, sd)) in self.0.iter_mut().zip(moments(points, weights)) {
            (folded.centre, folded.scale) = unfolded(mean, sd);
        }
    }

    /// Points of these places in the sequence, in units of each spread's scale: 2^m of them, from
    /// its beginning or from a multiple of 2^m on.
    ///
    /// Such Sobol points lie one in each of 2^m even cells in every dimension. They are moved to the
    /// middles of their cells, so that no point is at zero and the quantiles are a short table.
    pub fn points(&self, which: Range<usize>) -> Vec<Vec<f64>> {
        let count = which.len();
        let tables = in_ranges(self.0.len(), |range| {
            self.0[range].iter().map(|folded| folded.quantiles(count)).collect()
        });
        let cells = count as f64;
        let at = |(u, table): (&f64, &Vec<f64>)| table[(u * cells) as usize];
        sobol_points(which.end, self.0.len())
            .skip(which.start)
            .map(|point| point.iter().zip(&tables).map(at).collect())
            .collect()
    }

    /// Log density of a point.
    pub fn log_density(&self, x: &[f64]) -> f64 {
        let mut sum = LogSum::new();
        self.0.iter().zip(x).for_each(|(one, &x)| sum.add(&[one.density(x)]));
        sum.value()[0]
    }

    /// Log density of all coordinates but `left_out`, whatever that one is.
    pub fn log_density_without(&self, left_out: usize, x: &[f64]) -> f64 {
        self.log_density(x) - self.0[left_out].density(x[left_out]).ln()
    }
}

/// The share of a spread's draws that comes from its belief.
fn defensive(layout: &Layout, spread: usize) -> f64 {
    match layout.levels[spread] {
        _ if layout.rows <= VAGUE => DEFENSIVE,
        Some(levels) if levels <= FEW_LEVELS => DEFENSIVE_OF_FEW,
        _ => DEFENSIVE_OF_MANY,
    }
}

/// Centre and scale of the normal whose absolute value has this mean and standard deviation; zero
/// and the root mean square where its tail is the heavier one.
fn unfolded(mean: f64, sd: f64) -> (f64, f64) {
    let square = mean * mean + sd * sd;
    let ratio = |u: f64| {
        let folded = FRAC_2_PI.sqrt() * (-0.5 * u * u).exp() + u * erf(u * FRAC_1_SQRT_2);
        folded * folded / (1.0 + u * u)
    };
    let wanted = mean * mean / square;
    let (mut low, mut high) = (0.0, mean / sd);
    if wanted <= ratio(low) {
        return (0.0, square.sqrt());
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if ratio(middle) < wanted { low = middle } else { high = middle }
    }
    let scale = (square / (1.0 + low * low)).sqrt();
    (low * scale, scale)
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

/// The first `count` Sobol points (direction numbers of Joe and Kuo, 2008).
pub(crate) fn sobol_points(count: usize, dimensions: usize) -> impl Iterator<Item = Vec<f64>> {
    Sobol::<f64>::new(dimensions, &JoeKuoD6::minimal()).take(count)
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
        let student = Folded { centre: 0.0, scale: 1.0, wide: 0.0 };
        let six: Vec<_> = rows(text).into_iter().filter(|row| row[0] == FREEDOM).collect();
        assert!(six.len() >= 8);
        for row in six {
            // The folded distribution has twice the share beyond t.
            let share = 2.0 * row[1] - 1.0;
            let (ours, theirs) = (student.quantile(share.abs(), 0.0).copysign(share), row[2]);
            assert!((ours - theirs).abs() <= 1e-10 * (1.0 + theirs.abs()), "{row:?}: {ours}");
        }
    }

    /// Wherever the centre is, and however sharp: below each quantile lies its share.
    #[test]
    fn quantiles_have_their_shares_below_them() {
        for (centre, scale) in [(0.0, 1.0), (0.7, 0.5), (3.0, 0.2), (40.0, 0.001), (0.0, 0.0003)] {
            for wide in [0.0, DEFENSIVE] {
                let folded = Folded { centre, scale, wide };
                let found = folded.quantiles(256);
                assert!(found.windows(2).all(|pair| pair[0] < pair[1]));
                for (cell, x) in found.into_iter().enumerate() {
                    let share = (cell as f64 + 0.5) / 256.0;
                    let off = folded.share_below(x) - share;
                    assert!(off.abs() < 1e-9, "{folded:?} {share}: {x}, off by {off}");
                }
            }
        }
    }

    /// E|Z + 1| and its sd, Z standard normal, and those of |Z| (textbook); and a tail heavier than
    /// a normal's.
    #[test]
    fn moments_of_a_folded_normal_give_it_back() {
        let mean = (2.0 / std::f64::consts::PI).sqrt() * (-0.5_f64).exp()
            + erf(std::f64::consts::FRAC_1_SQRT_2);
        let half = FRAC_2_PI.sqrt();
        let cases = [
            ((mean, (2.0 - mean * mean).sqrt()), (1.0, 1.0)),
            ((50.0, 0.1), (50.0, 0.1)),
            ((0.6, 0.8), (0.0, 1.0)),
        ];
        for ((mean, sd), (centre, scale)) in cases {
            let found = unfolded(mean, sd);
            let off = (found.0 - centre).abs().max((found.1 - scale).abs());
            assert!(off < 1e-6 * (1.0 + centre), "{found:?}");
        }
        let (centre, scale) = unfolded(half, (1.0 - FRAC_2_PI).sqrt());
        assert!(centre < 1e-3 && (scale - 1.0).abs() < 1e-3, "{centre} {scale}");
    }

    /// The density that the weights divide by is the one that is drawn from: it integrates to one
    /// over x ≥ 0, folded wherever its centre is (the midpoint rule, to its error of 1e-6).
    #[test]
    fn the_folded_density_integrates_to_one() {
        for (centre, scale) in [(0.0, 1.0), (0.7, 0.5), (3.0, 0.2)] {
            for wide in [0.0, DEFENSIVE] {
                let folded = Folded { centre, scale, wide };
                let step = 1e-3;
                let density = |i: u32| folded.density((f64::from(i) + 0.5) * step);
                let sum: f64 = (0..60_000).map(density).sum();
                assert!((sum * step - 1.0).abs() < 1e-6, "{folded:?}: {}", sum * step);
            }
        }
    }
}
