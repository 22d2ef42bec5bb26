//! The distribution that draws of one spread come from: a Student-t, folded at zero or of the
//! logarithm, mixed with the belief.

use statrs::function::erf::erf;
use std::f64::consts::{FRAC_1_SQRT_2, FRAC_2_PI};

/// Degrees of freedom: tails heavy enough for any posterior seen, light enough to waste few draws.
const FREEDOM: f64 = 6.0;
/// Γ(7/2)/(Γ(3)·√(6π)) = 15/(16·√6), the height of the Student-t(6) density at zero.
const HEIGHT: f64 = 0.382_732_772_309_871_6;
/// Largest standard deviation, as a share of its mean, of a spread well away from zero.
const AWAY: f64 = 0.65;
/// Smallest such share of a spread with a heavy tail; a half-normal has 0.76.
const TAIL_HEAVY: f64 = 1.0;
/// Standard deviations of another spread beyond which the shift by it does not grow.
const FARTHEST: f64 = 3.0;
/// Halvings of a ratio's interval: they give more digits than moments of draws have.
const HALVINGS: usize = 30;
/// Most steps to a quantile; one or two are usual.
const STEPS: usize = 100;
/// Largest error of the probability below a quantile.
const NEAR: f64 = 1e-13;
/// A Newton step shorter than this, in scales, is the last. The error left goes with its square and
/// is less than `NEAR`.
const LAST_STEP: f64 = 1e-7;

/// The distribution of a spread's draws, T Student-t with six degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Near {
    /// `|centre + scale·T|`.
    Folded { centre: f64, scale: f64 },
    /// `exp(centre + scale·T)`.
    Logarithmic { centre: f64, scale: f64 },
    /// `|scale·T|`, T with two degrees of freedom.
    Heavy { scale: f64 },
}

/// `near`, mixed with the absolute value of a standard normal in a share `wide` of all draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct OfSpread {
    pub near: Near,
    /// Whether the distribution is skewed where it is well away from zero.
    pub skewed: bool,
    pub wide: f64,
    /// A shift of the draw that depends on another spread.
    pub lean: Option<Lean>,
}

/// Two spreads that are known sharply may be correlated. The later one is then shifted in
/// proportion to the distance of the earlier one from its mean. The shift stops growing at
/// [`FARTHEST`] standard deviations, so that each draw of the later one stays far from zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Lean {
    /// The earlier spread, its mean and its standard deviation.
    pub on: usize,
    pub mean: f64,
    pub sd: f64,
    /// Shift in units of the later spread, for each standard deviation of the earlier one.
    pub slope: f64,
}

impl Lean {
    pub fn shift(self, x: &[f64]) -> f64 {
        self.slope * ((x[self.on] - self.mean) / self.sd).clamp(-FARTHEST, FARTHEST)
    }
}

impl Near {
    /// The distribution for a spread with this mean and standard deviation. Few levels leave a
    /// spread `skewed`. Well away from zero its logarithm is drawn. At zero its tail is so heavy
    /// that its standard deviation says little, so the mean alone sets the scale.
    pub fn of(mean: f64, sd: f64, skewed: bool) -> Self {
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

    /// Density at `x ≥ 0`, with both halves of a fold.
    fn density(self, x: f64) -> f64 {
        // The power −7/2 is −(degrees of freedom + 1)/2.
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

    /// The probability below `x ≥ 0`.
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

    /// The distance around x over which the density hardly changes.
    fn scale(self, x: f64) -> f64 {
        match self {
            Self::Folded { scale, .. } | Self::Heavy { scale } => scale,
            Self::Logarithmic { scale, .. } => scale * x,
        }
    }

    /// A size that most draws are below.
    fn size(self) -> f64 {
        match self {
            Self::Folded { centre, scale } => centre + scale,
            Self::Logarithmic { centre, scale } => (centre + scale).exp(),
            Self::Heavy { scale } => scale,
        }
    }
}

impl OfSpread {
    /// Density of one coordinate of a point given those before it, after the shift and the fold.
    pub fn density_at(self, k: usize, x: &[f64]) -> f64 {
        let Some(lean) = self.lean else { return self.density(x[k]) };
        let shift = lean.shift(x);
        let drawn = [x[k] - shift, -x[k] - shift];
        drawn.into_iter().filter(|drawn| *drawn >= 0.0).map(|drawn| self.density(drawn)).sum()
    }

    pub fn density(self, x: f64) -> f64 {
        let normal = FRAC_2_PI.sqrt() * (-0.5 * x * x).exp();
        (1.0 - self.wide) * self.near.density(x) + self.wide * normal
    }

    fn share_below(self, x: f64) -> f64 {
        (1.0 - self.wide) * self.near.share_below(x) + self.wide * erf(x * FRAC_1_SQRT_2)
    }

    /// Quantiles at the midpoints of `count` equal shares, in rising order.
    pub fn quantiles(self, count: usize) -> Vec<f64> {
        let mut found: Vec<f64> = Vec::with_capacity(count);
        for cell in 0..count {
            let share = (cell as f64 + 0.5) / count as f64;
            let low = found.last().copied().unwrap_or(0.0);
            let ahead = match found[..] {
                // Extrapolates the parabola through the last three.
                [.., first, second, third] => 3.0 * (third - second) + first,
                _ => low,
            };
            found.push(self.quantile(share, low, ahead.max(low)));
        }
        found
    }

    /// The quantile of a share, at least `low` and about `x`. Newton's method, with bisection where
    /// a step would leave the interval that brackets it.
    fn quantile(self, share: f64, mut low: f64, mut x: f64) -> f64 {
        let mut high = f64::INFINITY;
        for _ in 0..STEPS {
            let off = self.share_below(x) - share;
            if off.abs() <= NEAR {
                return x;
            }
            *(if off < 0.0 { &mut low } else { &mut high }) = x;
            let farthest = 2.0 * x + self.near.size();
            let (step, last) = (off / self.density(x), LAST_STEP * self.near.scale(x));
            let next = (x - step).min(farthest);
            let is_inside = next > low && next < high;
            x = if is_inside { next } else { 0.5 * (low + high.min(farthest)) };
            if is_inside && step.abs() <= last {
                return x;
            }
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

/// Centre and scale of the normal whose absolute value has this mean and standard deviation. If the
/// tail is heavier than a half-normal's: zero and the root mean square.
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

#[cfg(test)]
mod tests {
    use super::*;

    /// The share of draws that comes from the belief.
    const WIDE: f64 = 0.1;

    /// Rows of a reference table, without the header. tests/reference/SOURCE.md names its source.
    fn rows(text: &str) -> Vec<Vec<f64>> {
        let numbers = |line: &str| line.split(',').map(|field| field.parse().unwrap()).collect();
        text.lines().skip(1).map(numbers).collect()
    }

    /// Ten digits of a quantile are enough, because the weights use the draw as it was made.
    #[test]
    fn student_quantiles_are_those_of_another_library() {
        let text = include_str!("../../../tests/reference/student_t_scipy.csv");
        let near = Near::Folded { centre: 0.0, scale: 1.0 };
        let student = OfSpread { near, skewed: false, wide: 0.0, lean: None };
        let six: Vec<_> = rows(text).into_iter().filter(|row| row[0] == FREEDOM).collect();
        assert!(six.len() >= 8);
        for row in six {
            // The folded distribution has twice the share beyond t.
            let share = 2.0 * row[1] - 1.0;
            let (ours, theirs) = (student.quantile(share.abs(), 0.0, 0.0).copysign(share), row[2]);
            assert!((ours - theirs).abs() <= 1e-10 * (1.0 + theirs.abs()), "{row:?}: {ours}");
        }
    }

    /// All kinds, with and without draws from the belief. The logarithmic kind has this mean and
    /// sd.
    fn all_kinds(centre: f64, scale: f64) -> Vec<OfSpread> {
        let logarithmic = (centre > 0.0).then(|| Near::of(centre, scale.min(0.6 * centre), true));
        let kinds = [Near::Folded { centre, scale }, Near::Heavy { scale }];
        let kinds = kinds.into_iter().chain(logarithmic);
        kinds
            .flat_map(|near| {
                [0.0, WIDE].map(|wide| OfSpread { near, skewed: true, wide, lean: None })
            })
            .collect()
    }

    /// A skewed spread away from zero is drawn with its own moments, except for the heavier tail. A
    /// spread near zero or over many levels is folded.
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
        // The mean of |T| is √2 (Student-t with two degrees of freedom, textbook).
        assert!(
            matches!(Near::of(0.2 * 2.0_f64.sqrt(), 0.5, true), Near::Heavy { scale } if (scale - 0.2).abs() < 1e-12)
        );
        assert!(matches!(Near::of(0.3, 0.3, true), Near::Folded { .. }));
    }

    /// Each quantile has its share below it, for any centre and however sharp.
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

    /// E|Z + 1| and its sd, Z standard normal, those of |Z| (textbook), and a tail heavier than a
    /// normal's.
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

    /// The weights divide by the density that is drawn from. Over x ≥ 0 it must integrate to the
    /// share that is drawn, folded for any centre (by the midpoint rule, to its error of 1e-6). A
    /// logarithmic density is summed from 0.02 on, because the rule misses its pole at zero.
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
                assert!(share > 0.99, "{one:?}");
            }
        }
    }
}
