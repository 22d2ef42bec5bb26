//! Where draws of the spreads come from: for each spread a folded normal distribution and a wider
//! one, joined by the correlations of their normal scores, on Sobol points.

use super::envelope::{Envelope, dot};
use super::{SpreadPrior, normal_cdf, normal_pdf};
use sobol::Sobol;
use sobol::params::JoeKuoD6;
use statrs::distribution::{ContinuousCDF, Normal};

/// The share of the wide part (a defensive mixture; Hesterberg 1995, Technometrics 37).
const WIDE_SHARE: f64 = 0.15;
/// Scales up to this are narrow: a belief, whose scale is 1, would be wide beyond use.
const NARROW: f64 = 0.35;
/// The share of the correlations found that is followed.
const FOLLOWED: f64 = 0.8;
/// Of every so many draws one is of spreads each on its own, so that nothing that lies across the
/// correlations is left out (a defensive mixture again).
const APART: usize = 4;
/// Normal scores are kept within this.
const FARTHEST: f64 = 6.0;
/// Steps of a search for a quantile at most.
const MOST_STEPS: usize = 200;
/// How near a quantile is found, in units of the scale; weights see the draw that was made.
const NEAR_ENOUGH: f64 = 1e-10;

/// `|centre + scale·Z|`, Z standard normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Folded {
    pub centre: f64,
    pub scale: f64,
}

impl Folded {
    /// The one with this mean and standard deviation, or the nearest: the mean of a folded normal is
    /// at least 1.32 times its standard deviation.
    pub fn with(mean: f64, sd: f64) -> Self {
        let square = mean * mean + sd * sd;
        let of = |centre: f64| {
            Self { centre, scale: (square - centre * centre).max(0.0).sqrt().max(f64::MIN_POSITIVE) }
        };
        let (mut low, mut high) = (0.0, square.sqrt());
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if of(middle).mean() < mean { low = middle } else { high = middle }
        }
        of(low)
    }

    fn mean(self) -> f64 {
        let t = self.centre / self.scale;
        2.0 * self.scale * normal_pdf(t) + self.centre * (1.0 - 2.0 * normal_cdf(-t))
    }

    fn cdf(self, x: f64) -> f64 {
        normal_cdf((x - self.centre) / self.scale) - normal_cdf((-x - self.centre) / self.scale)
    }

    fn density(self, x: f64) -> f64 {
        let at = |x: f64| normal_pdf((x - self.centre) / self.scale);
        (at(x) + at(-x)) / self.scale
    }

    /// The same with Student's t of two degrees of freedom, whose tails no belief's are heavier
    /// than, instead of Z.
    fn heavy_cdf(self, x: f64) -> f64 {
        let at = |t: f64| 0.5 + 0.5 * t / (2.0 + t * t).sqrt();
        at((x - self.centre) / self.scale) - at((-x - self.centre) / self.scale)
    }

    fn heavy_density(self, x: f64) -> f64 {
        let at = |x: f64| (2.0 + ((x - self.centre) / self.scale).powi(2)).powf(-1.5);
        (at(x) + at(-x)) / self.scale
    }
}

/// The proposal for one spread, at `x ≥ 0` scales of its belief.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Margin {
    near: Folded,
    /// Whether the wide part is the belief; otherwise it has heavy tails around the same centre.
    believed: bool,
}

impl Margin {
    /// About `near`, under this belief.
    pub fn new(near: Folded, prior: SpreadPrior) -> Self {
        let proper = matches!(prior, SpreadPrior::HalfNormal(_));
        Self { near, believed: proper && near.scale > NARROW }
    }

    const BELIEF: Folded = Folded { centre: 0.0, scale: 1.0 };

    fn cdf(self, x: f64) -> f64 {
        let wide = if self.believed { Self::BELIEF.cdf(x) } else { self.near.heavy_cdf(x) };
        (1.0 - WIDE_SHARE) * self.near.cdf(x) + WIDE_SHARE * wide
    }

    fn density(self, x: f64) -> f64 {
        let wide = if self.believed { Self::BELIEF.density(x) } else { self.near.heavy_density(x) };
        (1.0 - WIDE_SHARE) * self.near.density(x) + WIDE_SHARE * wide
    }

    /// The normal score of `x`.
    fn score(self, x: f64, normal: Normal) -> f64 {
        normal.inverse_cdf(self.cdf(x)).clamp(-FARTHEST, FARTHEST)
    }

    /// The quantile of `share`, which lies between two others: Newton's method, kept between bounds.
    fn quantile(self, share: f64, (mut low, mut high): (f64, f64)) -> f64 {
        let mut x = if high.is_finite() { 0.5 * (low + high) } else { low };
        for _ in 0..MOST_STEPS {
            let beyond = self.cdf(x) - share;
            if beyond < 0.0 { low = x } else { high = x }
            let newton = x - beyond / self.density(x);
            let next = if newton > low && newton < high {
                newton
            } else if high.is_finite() {
                0.5 * (low + high)
            } else {
                low + (low + self.near.scale)
            };
            let step = (next - x).abs();
            x = next;
            if step < NEAR_ENOUGH * self.near.scale {
                break;
            }
        }
        x
    }

    /// Quantiles at even steps of the share, from which others are found quickly.
    fn table(self) -> Vec<f64> {
        let mut from = 0.0;
        let mut one = |cell: usize| {
            from = self.quantile(cell as f64 / CELLS as f64, (from, f64::INFINITY));
            from
        };
        std::iter::once(0.0).chain((1..CELLS).map(&mut one)).chain([f64::INFINITY]).collect()
    }
}

/// Steps of a table of quantiles.
const CELLS: usize = 128;

/// What draws are made from.
#[derive(Clone, Debug)]
pub(super) struct Proposal {
    margins: Vec<Margin>,
    /// The factor of the correlations of the normal scores.
    factor: Vec<f64>,
    envelope: Envelope,
}

/// A draw, in units of each spread's scale, and its log density.
#[derive(Clone, Debug)]
pub(super) struct Point {
    pub x: Vec<f64>,
    pub log_density: f64,
}

impl Proposal {
    /// Each spread on its own.
    pub fn apart(margins: Vec<Margin>) -> Self {
        let envelope = Envelope::new(margins.len(), std::iter::once(0..margins.len()));
        let mut factor = vec![0.0; envelope.len()];
        (0..margins.len()).for_each(|k| factor[envelope.index(k, k)] = 1.0);
        Self { margins, factor, envelope }
    }

    /// With most of the correlations that weighted points have between their normal scores.
    pub fn joined(margins: Vec<Margin>, points: &[Point], weights: &[f64]) -> Self {
        let normal = Normal::standard();
        let scores: Vec<Vec<f64>> = (points.iter())
            .map(|point| {
                margins.iter().zip(&point.x).map(|(margin, &x)| margin.score(x, normal)).collect()
            })
            .collect();
        let product = |i: usize, j: usize| {
            scores.iter().zip(weights).map(|(z, w)| w * z[i] * z[j]).sum::<f64>()
        };
        let squares: Vec<f64> = (0..margins.len()).map(|k| product(k, k)).collect();
        let mut joined = Self::apart(margins);
        let mut factor = joined.factor.clone();
        for i in 0..squares.len() {
            for j in 0..i {
                let correlation = product(i, j) / (squares[i] * squares[j]).sqrt();
                factor[joined.envelope.index(i, j)] = FOLLOWED * correlation;
            }
        }
        if joined.envelope.factorise(&mut factor).is_some() {
            joined.factor = factor;
        }
        joined
    }

    /// So many points, a multiple of four: normal scores at Sobol points, moved to the middles of
    /// their cells so that none is at zero, correlated, and taken to each spread's own distribution;
    /// and fewer with no correlations.
    pub fn points(&self, count: usize) -> Vec<Point> {
        let normal = Normal::standard();
        let tables: Vec<_> = self.margins.iter().map(|margin| margin.table()).collect();
        let apart = count / APART;
        let correlated = standard_scores(count - apart, self.margins.len(), normal).map(|z| {
            (0..z.len()).map(|k| dot(self.envelope.row(&self.factor, k), &z)).collect::<Vec<_>>()
        });
        let apart = standard_scores(apart, self.margins.len(), normal);
        correlated.chain(apart).map(|scores| self.point(scores, &tables)).collect()
    }

    /// The point of these normal scores s. With R their correlations the density is that of the
    /// margins times `|R|^−½·exp(½·sᵀs − ½·sᵀR⁻¹s)`, or times 1 for the share without any.
    fn point(&self, scores: Vec<f64>, tables: &[Vec<f64>]) -> Point {
        let mut alone = 0.0;
        let each = self.margins.iter().zip(tables).zip(&scores).map(|((margin, table), &score)| {
            let share = normal_cdf(score);
            let cell = ((share * CELLS as f64) as usize).min(CELLS - 1);
            let x = margin.quantile(share, (table[cell], table[cell + 1]));
            alone += margin.density(x).ln();
            x
        });
        let x = each.collect();
        let squares = dot(&scores, &scores);
        let mut z = scores;
        self.envelope.forward(&self.factor, &mut z, 0);
        let pivots = (0..z.len()).map(|k| self.factor[self.envelope.index(k, k)].ln());
        let joined = 0.5 * (squares - dot(&z, &z)) - pivots.sum::<f64>();
        let apart = 1.0 / APART as f64;
        let log_density = alone + (apart + (1.0 - apart) * joined.exp()).ln();
        Point { x, log_density }
    }
}

/// Independent normal scores at the first `count` Sobol points.
fn standard_scores(
    count: usize,
    dimensions: usize,
    normal: Normal,
) -> impl Iterator<Item = Vec<f64>> {
    let cells = count.next_power_of_two();
    let middle = |cell: usize| normal.inverse_cdf((cell as f64 + 0.5) / cells as f64);
    let scores: Vec<f64> = (0..cells).map(middle).collect();
    sobol_points(count, dimensions)
        .map(move |point| point.iter().map(|u| scores[(u * cells as f64) as usize]).collect())
}

/// The first `count` Sobol points (direction numbers of Joe and Kuo, 2008).
pub(super) fn sobol_points(count: usize, dimensions: usize) -> impl Iterator<Item = Vec<f64>> {
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
        let theirs = rows(include_str!("../../../tests/reference/sobol_scipy.csv"));
        assert_eq!(theirs.len(), 64);
        let ours: Vec<Vec<f64>> = sobol_points(theirs.len(), theirs[0].len()).collect();
        assert_eq!(ours, theirs);
    }

    /// The density that the weights divide by is the one that is drawn from: it integrates to one
    /// over x ≥ 0 (the midpoint rule), its integral is the cdf, and the quantiles invert that.
    #[test]
    fn what_is_drawn_has_the_density_that_weights_divide_by() {
        for (centre, scale, flat) in [(0.0, 1.0, false), (0.7, 0.5, false), (3.0, 0.02, false), (1.0, 0.8, true)] {
            let prior = if flat { SpreadPrior::Flat(1.0) } else { SpreadPrior::HalfNormal(1.0) };
            let margin = Margin::new(Folded { centre, scale }, prior);
            let (step, mut sum) = (2e-4, 0.0);
            for i in 0..100_000_u32 {
                if i % 10_000 == 0 {
                    let x = f64::from(i) * step;
                    assert!((sum - margin.cdf(x)).abs() < 1e-5, "{centre} {scale} {x}: {sum}");
                }
                sum += step * margin.density((f64::from(i) + 0.5) * step);
            }
            let table = margin.table();
            assert!(table.windows(2).all(|pair| pair[0] < pair[1]), "{table:?}");
            for (cell, x) in table[..CELLS].iter().enumerate() {
                let share = cell as f64 / CELLS as f64;
                assert!((margin.cdf(*x) - share).abs() < 1e-9, "{centre} {scale} {cell}");
            }
        }
    }

    /// A density that integrates to one gives `E[f/q] = ∫f`: here f a density over both spreads.
    #[test]
    fn joined_draws_have_the_density_that_weights_divide_by() {
        let folded = |centre, scale| Folded { centre, scale };
        let margins = [folded(0.4, 0.6), folded(1.0, 0.5)]
            .map(|near| Margin::new(near, SpreadPrior::HalfNormal(1.0)))
            .to_vec();
        let first = Proposal::apart(margins.clone()).points(256);
        // Weighed so that the two go together.
        let mut weights: Vec<f64> =
            first.iter().map(|point| (-4.0 * (point.x[0] - point.x[1] + 0.5).powi(2)).exp()).collect();
        super::super::trust::normalise(&mut weights);
        let joined = Proposal::joined(margins, &first, &weights);
        let correlation = joined.factor[joined.envelope.index(1, 0)];
        assert!((0.2..0.9).contains(&correlation), "{correlation}");
        let half_normal = |x: f64| 2.0 * normal_pdf(x);
        let points = joined.points(4096);
        let ratio = |point: &Point| {
            half_normal(point.x[0]) * half_normal(point.x[1]) / point.log_density.exp()
        };
        let mean = points.iter().map(ratio).sum::<f64>() / 4096.0;
        assert!((mean - 1.0).abs() < 0.01, "{mean}");
    }

    #[test]
    fn a_folded_normal_is_found_by_its_moments() {
        for (mean, sd) in [(0.8, 0.5), (2.0, 0.3), (0.02, 0.0001)] {
            let found = Folded::with(mean, sd);
            assert!((found.mean() / mean - 1.0).abs() < 1e-9, "{found:?}");
            let square = found.centre.powi(2) + found.scale.powi(2);
            assert!((square / (mean * mean + sd * sd) - 1.0).abs() < 1e-12, "{found:?}");
        }
        // No folded normal is so wide for its mean: the widest one then.
        assert!(Folded::with(1.0, 2.0).centre < 1e-9);
    }
}
