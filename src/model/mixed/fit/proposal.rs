//! Where draws of the spreads come from: for each spread a Student-t distribution, folded or of its
//! logarithm, mixed with its belief, on Sobol points.

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
/// The greatest standard deviation, as a share of its mean, of a spread that is well away from zero.
const AWAY: f64 = 0.65;
/// The least one of a spread with a heavy tail; that of a half-normal is 0.76.
const TAIL_HEAVY: f64 = 1.0;
/// Means of two spreads, in standard deviations, and their correlation, from which one leans on the
/// other, and how far at most.
const SHARP: f64 = 5.0;
const TOGETHER: f64 = 0.4;
const FARTHEST: f64 = 3.0;
/// The most levels that are few.
const FEW_LEVELS: usize = 12;
/// Halvings of a ratio's interval: more digits than moments of draws have.
const HALVINGS: usize = 30;
/// Steps to a quantile at most, from the one before it; three or four are usual.
const STEPS: usize = 100;
/// How near the share below a quantile is to the share that was asked for.
const NEAR: f64 = 1e-13;

/// Where the draws of a spread come from, T Student-t with six degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Near {
    /// `|centre + scale·T|`.
    Folded { centre: f64, scale: f64 },
    /// `exp(centre + scale·T)`.
    Logarithmic { centre: f64, scale: f64 },
    /// `|scale·T|`, T with two degrees of freedom.
    Heavy { scale: f64 },
}

/// That, or the absolute value of a standard normal in a share `wide` of all draws.
#[derive(Clone, Copy, Debug, PartialEq)]
struct OfSpread {
    near: Near,
    /// Whether it is skewed where it is well away from zero.
    skewed: bool,
    wide: f64,
    /// What moves the draw to or fro.
    lean: Option<Lean>,
}

/// Two spreads that are known sharply go together: the later one is drawn so much farther out as the
/// earlier one is off its mean. Farther than so many standard deviations of it nothing more is added,
/// so that each draw of the later one is still far from zero.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Lean {
    on: usize,
    mean: f64,
    sd: f64,
    /// In units of the spread that is moved, for each standard deviation of the other.
    slope: f64,
}

impl Lean {
    fn shift(self, x: &[f64]) -> f64 {
        self.slope * ((x[self.on] - self.mean) / self.sd).clamp(-FARTHEST, FARTHEST)
    }
}

impl Near {
    /// With the mean and the standard deviation of a spread. Few levels leave it `skewed`: well away
    /// from zero like a logarithmic one, and at zero with a tail that makes its standard deviation
    /// say little, so that the mean alone sets the scale.
    fn of(mean: f64, sd: f64, skewed: bool) -> Self {
        let ratio = sd / mean;
        if skewed && ratio <= AWAY {
            let square = (ratio * ratio).ln_1p();
            return Self::Logarithmic { centre: mean.ln() - 0.5 * square, scale: square.sqrt() };
        }
        if skewed && ratio > TAIL_HEAVY {
            // The mean of |T| is √2.
            return Self::Heavy { scale: mean * FRAC_1_SQRT_2 };
        }
        let (centre, scale) = unfolded(mean, sd);
        Self::Folded { centre, scale }
    }

    /// Density at `x ≥ 0`: both halves of the folds.
    fn density(self, x: f64) -> f64 {
        // To the power −7/2, which is −(degrees of freedom + 1)/2.
        let standard = |t: f64| {
            let base = 1.0 + t * t / FREEDOM;
            HEIGHT / (base * base * base * base.sqrt())
        };
        match self {
            Self::Folded { centre, scale } => {
                (standard((x - centre) / scale) + standard((x + centre) / scale)) / scale
            }
            Self::Logarithmic { .. } if x == 0.0 => 0.0,
            Self::Logarithmic { centre, scale } => {
                standard((x.ln() - centre) / scale) / (scale * x)
            }
            Self::Heavy { scale } => {
                let base = 1.0 + 0.5 * (x / scale).powi(2);
                FRAC_1_SQRT_2 / (scale * base * base.sqrt())
            }
        }
    }

    /// The share below `x ≥ 0`.
    fn share_below(self, x: f64) -> f64 {
        match self {
            Self::Folded { centre, scale } => {
                0.5 * (student((x - centre) / scale) + student((x + centre) / scale))
            }
            Self::Logarithmic { .. } if x == 0.0 => 0.0,
            Self::Logarithmic { centre, scale } => 0.5 + 0.5 * student((x.ln() - centre) / scale),
            Self::Heavy { scale } => x / (2.0 * scale * scale + x * x).sqrt(),
        }
    }

    /// Something that is no smaller than most draws are.
    fn size(self) -> f64 {
        match self {
            Self::Folded { centre, scale } => centre + scale,
            Self::Logarithmic { centre, scale } => (centre + scale).exp(),
            Self::Heavy { scale } => scale,
        }
    }
}

impl OfSpread {
    /// Density at one coordinate of a point, given those before it: of the draw, moved and folded.
    fn density_at(self, k: usize, x: &[f64]) -> f64 {
        let Some(lean) = self.lean else { return self.density(x[k]) };
        let shift = lean.shift(x);
        let drawn = [x[k] - shift, -x[k] - shift];
        drawn.into_iter().filter(|drawn| *drawn >= 0.0).map(|drawn| self.density(drawn)).sum()
    }

    fn density(self, x: f64) -> f64 {
        let normal = FRAC_2_PI.sqrt() * (-0.5 * x * x).exp();
        (1.0 - self.wide) * self.near.density(x) + self.wide * normal
    }

    fn share_below(self, x: f64) -> f64 {
        (1.0 - self.wide) * self.near.share_below(x) + self.wide * erf(x * FRAC_1_SQRT_2)
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
            let farthest = 2.0 * x + self.near.size();
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
pub(crate) struct Proposal(Vec<OfSpread>);

impl Proposal {
    /// Around these centres, with these scales, under the beliefs of a design. Draws come from
    /// beliefs only where they are distributions.
    pub fn new(near: impl Iterator<Item = (f64, f64)>, layout: &Layout) -> Self {
        let each = near.zip(&layout.priors).enumerate().map(|(k, ((centre, scale), prior))| {
            let wide = if prior.is_proper() { defensive(layout, k) } else { 0.0 };
            let skewed = is_of_few(layout, k);
            OfSpread { near: Near::Folded { centre, scale }, skewed, wide, lean: None }
        });
        Self(each.collect())
    }

    /// Gives each spread's distribution the weighted moments of the points, and where both are
    /// sharp lets it lean on the one before it that it goes with most.
    pub fn follow(&mut self, points: &[Vec<f64>], weights: &[f64]) {
        let moments = moments(points, weights);
        let is_sharp = |k: usize| moments[k].0 >= SHARP * moments[k].1;
        for (k, one) in self.0.iter_mut().enumerate() {
            let (mean, sd) = moments[k];
            let others = (0..k).filter(|&on| is_sharp(k) && is_sharp(on));
            let each = others.map(|on| (on, correlation(points, weights, &moments, [k, on])));
            let most = each.max_by(|one, other| one.1.abs().total_cmp(&other.1.abs()));
            let most = most.filter(|(_, correlation)| correlation.abs() >= TOGETHER);
            one.lean = most.map(|(on, correlation)| Lean {
                on,
                mean: moments[on].0,
                sd: moments[on].1,
                slope: correlation * sd,
            });
            let left =
                most.map_or(1.0, |(_, correlation)| (1.0 - correlation * correlation).sqrt());
            one.near = Near::of(mean, sd * left, one.skewed);
        }
    }

    /// The same with each spread drawn whatever the others are.
    pub fn independent(&self) -> Self {
        Self(self.0.iter().map(|one| OfSpread { lean: None, ..*one }).collect())
    }

    /// Points of these places in the sequence, in units of each spread's scale: 2^m of them, from
    /// its beginning or from a multiple of 2^m on.
    ///
    /// Such Sobol points lie one in each of 2^m even cells in every dimension. They are moved to the
    /// middles of their cells, so that no point is at zero and the quantiles are a short table.
    pub fn points(&self, which: Range<usize>) -> Vec<Vec<f64>> {
        let count = which.len();
        let tables = in_ranges(self.0.len(), |range| {
            self.0[range].iter().map(|one| one.quantiles(count)).collect()
        });
        let at = |u: f64, k: usize| tables[k][(u * count as f64) as usize];
        let moved = |mut point: Vec<f64>| {
            for (k, one) in self.0.iter().enumerate() {
                let shift = one.lean.map_or(0.0, |lean| lean.shift(&point));
                point[k] = (at(point[k], k) + shift).abs();
            }
            point
        };
        sobol_points(which.end, self.0.len()).skip(which.start).map(moved).collect()
    }

    /// Log density of a point.
    pub fn log_density(&self, x: &[f64]) -> f64 {
        let mut sum = LogSum::new();
        self.0.iter().enumerate().for_each(|(k, one)| sum.add(&[one.density_at(k, x)]));
        sum.value()[0]
    }

    /// Log density of all coordinates but `left_out`, whatever that one is, of an
    /// [independent](Self::independent) one.
    pub fn log_density_without(&self, left_out: usize, x: &[f64]) -> f64 {
        self.log_density(x) - self.0[left_out].density(x[left_out]).ln()
    }
}

/// Whether a long book has only few levels of what has this spread.
fn is_of_few(layout: &Layout, spread: usize) -> bool {
    layout.rows > VAGUE && layout.levels[spread].is_some_and(|levels| levels <= FEW_LEVELS)
}

/// The share of a spread's draws that comes from its belief.
fn defensive(layout: &Layout, spread: usize) -> f64 {
    match layout.rows {
        ..=VAGUE => DEFENSIVE,
        _ if is_of_few(layout, spread) => DEFENSIVE_OF_FEW,
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

/// The weighted correlation of two coordinates of points.
fn correlation(
    points: &[Vec<f64>],
    weights: &[f64],
    moments: &[(f64, f64)],
    pair: [usize; 2],
) -> f64 {
    let standard = |x: &[f64], k: usize| (x[k] - moments[k].0) / moments[k].1;
    let product = |x: &Vec<f64>| pair.map(|k| standard(x, k)).iter().product::<f64>();
    points.iter().zip(weights).map(|(x, weight)| weight * product(x)).sum()
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
        let near = Near::Folded { centre: 0.0, scale: 1.0 };
        let student = OfSpread { near, skewed: false, wide: 0.0, lean: None };
        let six: Vec<_> = rows(text).into_iter().filter(|row| row[0] == FREEDOM).collect();
        assert!(six.len() >= 8);
        for row in six {
            // The folded distribution has twice the share beyond t.
            let share = 2.0 * row[1] - 1.0;
            let (ours, theirs) = (student.quantile(share.abs(), 0.0).copysign(share), row[2]);
            assert!((ours - theirs).abs() <= 1e-10 * (1.0 + theirs.abs()), "{row:?}: {ours}");
        }
    }

    /// All kinds, the logarithmic one of this mean and sd, with and without draws from the belief.
    fn all_kinds(centre: f64, scale: f64) -> Vec<OfSpread> {
        let logarithmic = (centre > 0.0).then(|| Near::of(centre, scale.min(0.6 * centre), true));
        let kinds = [Near::Folded { centre, scale }, Near::Heavy { scale }];
        let kinds = kinds.into_iter().chain(logarithmic);
        kinds
            .flat_map(|near| {
                [0.0, DEFENSIVE].map(|wide| OfSpread { near, skewed: true, wide, lean: None })
            })
            .collect()
    }

    /// A spread that is skewed and away from zero is drawn with the moments that it has, but for the
    /// heavier tail; one near zero or of many levels is folded.
    #[test]
    fn what_few_levels_leave_is_drawn_skewed() {
        let Near::Logarithmic { centre, scale } = Near::of(0.6, 0.3, true) else {
            panic!("it is away from zero")
        };
        // The mean and the variance of a lognormal variable (textbook).
        let mean = (centre + 0.5 * scale * scale).exp();
        assert!((mean - 0.6).abs() < 1e-12);
        assert!((mean * ((scale * scale).exp() - 1.0).sqrt() - 0.3).abs() < 1e-12);
        assert!(matches!(Near::of(0.6, 0.3, false), Near::Folded { .. }));
        // By the mean of |T|, √2 (Student-t with two degrees of freedom, textbook).
        assert!(
            matches!(Near::of(0.2 * 2.0_f64.sqrt(), 0.5, true), Near::Heavy { scale } if (scale - 0.2).abs() < 1e-12)
        );
        assert!(matches!(Near::of(0.3, 0.3, true), Near::Folded { .. }));
    }

    /// Of two sharp spreads that go together the later is drawn with the earlier: with their
    /// correlation, and from the density that the weights divide by (the midpoint rule on a grid).
    #[test]
    fn sharp_spreads_are_drawn_as_they_go_together() {
        let together = |[a, b]: [f64; 2]| vec![0.4 + 0.04 * a, 0.9 + 0.1 * (0.8 * a + 0.6 * b)];
        let normal = |u: f64| 1.7 * (u / (1.0 - u)).ln() / 3.0;
        let points: Vec<Vec<f64>> =
            sobol_points(257, 2).skip(1).map(|u| together([normal(u[0]), normal(u[1])])).collect();
        let weights = vec![1.0 / 256.0; 256];
        let near = Near::Folded { centre: 0.5, scale: 0.3 };
        let one = OfSpread { near, skewed: false, wide: 0.001, lean: None };
        let mut proposal = Proposal(vec![one; 2]);
        proposal.follow(&points, &weights);
        let drawn = proposal.points(0..1024);
        let even = vec![1.0 / 1024.0; 1024];
        let found = correlation(&drawn, &even, &moments(&drawn, &even), [1, 0]);
        assert!((found - 0.8).abs() < 0.05, "{found}");
        let step = 0.002;
        let at = |i: usize, j: usize| {
            let x = [(i as f64 + 0.5) * step, (j as f64 + 0.5) * step];
            proposal.log_density(&x).exp() * step * step
        };
        let sum: f64 =
            (0..1000).flat_map(|i| (0..1500).map(move |j| (i, j))).map(|(i, j)| at(i, j)).sum();
        // A share of 0.001 of each comes from its belief, which reaches farther than the grid.
        assert!((sum - 1.0).abs() < 2e-3, "{sum}");
        assert!(proposal.independent().0.iter().all(|one| one.lean.is_none()));
    }

    /// Wherever the centre is, and however sharp: below each quantile lies its share.
    #[test]
    fn quantiles_have_their_shares_below_them() {
        for (centre, scale) in [(0.0, 1.0), (0.7, 0.5), (3.0, 0.2), (40.0, 0.001), (0.0, 0.0003)] {
            for one in all_kinds(centre, scale) {
                let found = one.quantiles(256);
                assert!(found.windows(2).all(|pair| pair[0] < pair[1]));
                for (cell, x) in found.into_iter().enumerate() {
                    let share = (cell as f64 + 0.5) / 256.0;
                    let off = one.share_below(x) - share;
                    assert!(off.abs() < 1e-9, "{one:?} {share}: {x}, off by {off}");
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

    /// The density that the weights divide by is the one that is drawn from: it integrates to the
    /// share that is drawn, over x ≥ 0, folded wherever its centre is (the midpoint rule, to its error
    /// of 1e-6; of a logarithmic one from 0.02 on, for at zero it has a pole that the rule misses).
    #[test]
    fn the_density_is_that_of_the_draws() {
        for (centre, scale) in [(0.0, 1.0), (0.7, 0.5), (3.0, 0.2)] {
            for one in all_kinds(centre, scale) {
                let step = 1e-3;
                let first = if matches!(one.near, Near::Logarithmic { .. }) { 20 } else { 0 };
                let density = |i: u32| one.density((f64::from(i) + 0.5) * step);
                let sum: f64 = (first..60_000).map(density).sum();
                let share = one.share_below(60.0) - one.share_below(f64::from(first) * step);
                assert!((sum * step - share).abs() < 1e-6, "{one:?}: {}", sum * step - share);
                assert!(share > 0.999 || matches!(one.near, Near::Heavy { .. }), "{one:?}");
            }
        }
    }
}
