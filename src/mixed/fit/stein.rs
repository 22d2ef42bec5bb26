//! Corrects weights by identities that hold under the posterior.

use super::moments::moments;
use super::trust::effective;
use crate::algebra::envelope::{Envelope, dot};
use crate::parallel::in_ranges;
use std::ops::Range;

/// Share of each identity's own variance that is added to it. This damps the correction, so that
/// the weights of few points do not vary wildly to meet many identities.
const HELD_BACK: f64 = 0.02;

/// The functions q of a point from which the identities are made, by their highest power. For few
/// points `1`; then also each coordinate; then also the square and cube of the identity's own
/// coordinate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Degree {
    Zero,
    One,
    Three,
}

impl Degree {
    /// The number of identities for `spreads` spreads.
    fn count(self, spreads: usize) -> usize {
        match self {
            Self::Zero => spreads,
            Self::One => spreads * (1 + spreads),
            Self::Three => spreads * (3 + spreads),
        }
    }

    /// Points that must count for each identity.
    fn points_each(self) -> usize {
        if self == Self::Three { 2 } else { 3 }
    }

    /// The highest degree, up to `most`, for which enough points count.
    fn for_points(count: f64, spreads: usize, most: Self) -> Self {
        let enough = |degree: &Self| count >= (degree.points_each() * degree.count(spreads)) as f64;
        let each = [Self::Three, Self::One].into_iter();
        each.filter(|degree| *degree <= most).find(enough).unwrap_or(Self::Zero)
    }
}

/// Weights after the correction.
#[derive(Clone, Debug)]
pub(crate) struct Balanced {
    /// They sum to one.
    pub weights: Vec<f64>,
    /// The identities behind the correction.
    used: Option<Identities>,
}

/// Corrects weights of points so that `E[∂(x_k·q)/∂x_k + x_k·q·∂log p/∂x_k] = 0`, as it does under
/// the posterior p. The functions q go up to a [`Degree`], at most `degree`, in standard deviations
/// of a point from the mean. `slopes` are `x_k·∂log p/∂x_k`.
///
/// With H these functions and D their weighted products, each weight is multiplied by
/// `1 − Hᵀ·D⁻¹·E[H]`. That removes from every average what it has in common with H. A change above
/// `most` is not made, because the weights of few points would vary wildly.
///
/// Source: Mira, Solgi and Imparato (2013), "Zero variance Markov chain Monte Carlo for Bayesian
/// estimators", Statistics and Computing 23; Oates, Girolami and Chopin (2017), "Control
/// functionals for Monte Carlo integration", JRSS B 79.
pub(crate) fn balanced(
    points: &[Vec<f64>],
    slopes: &[Vec<f64>],
    plain: Vec<f64>,
    degree: Degree,
    most: f64,
) -> Balanced {
    let mut weights = plain.clone();
    let identities = Identities::new(points, slopes, plain, degree);
    let off = identities.as_ref().map(|it| it.explained(&vec![1.0; points.len()]));
    // The root mean square of the relative changes: how far averages were off before.
    let change = off.as_ref().map_or(f64::INFINITY, |off| {
        off.iter().zip(&weights).map(|(off, weight)| weight * off * off).sum::<f64>().sqrt()
    });
    let used = identities.filter(|_| change <= most);
    if let (Some(_), Some(off)) = (&used, off) {
        weights.iter_mut().zip(off).for_each(|(weight, off)| *weight *= (1.0 - off).max(0.0));
        let sum: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|weight| *weight /= sum);
    }
    Balanced { weights, used }
}

impl Balanced {
    /// The standard error of a quantity with these values at the points, as if the points were
    /// random: the larger of its mean's in standard deviations, and its standard deviation's as a
    /// share.
    pub fn error_of(&self, values: &[f64]) -> f64 {
        let mean = dot(values, &self.weights);
        let squares: Vec<f64> = values.iter().map(|value| (value - mean).powi(2)).collect();
        let variance = dot(&squares, &self.weights).max(f64::MIN_POSITIVE);
        // The relative error of the variance is twice that of its root.
        let of_deviation = squares.iter().map(|square| 0.5 * (square / variance - 1.0)).collect();
        let of_mean = values.iter().map(|value| (value - mean) / variance.sqrt()).collect();
        self.error(of_deviation).max(self.error(of_mean))
    }

    /// The standard error of an average, from what the identities leave unexplained of its values.
    fn error(&self, mut left: Vec<f64>) -> f64 {
        if let Some(identities) = &self.used {
            let explained = identities.explained(&left);
            left.iter_mut().zip(explained).for_each(|(left, explained)| *left -= explained);
        }
        let count = effective(&self.weights);
        let free = (count - self.used.as_ref().map_or(0, Identities::count) as f64).max(0.0);
        let centre = dot(&left, &self.weights);
        let squares = left.iter().zip(&self.weights).map(|(left, w)| (w * (left - centre)).powi(2));
        (squares.sum::<f64>() * count / free).sqrt()
    }
}

/// Functions of points whose averages under the posterior are zero.
#[derive(Clone, Debug)]
struct Identities {
    /// Their values, point by point.
    values: Vec<f64>,
    weights: Vec<f64>,
    envelope: Envelope,
    /// Their weighted products, factorised.
    products: Vec<f64>,
}

impl Identities {
    /// `None` if the points cannot distinguish them.
    fn new(
        points: &[Vec<f64>],
        slopes: &[Vec<f64>],
        weights: Vec<f64>,
        most: Degree,
    ) -> Option<Self> {
        let spreads = points.first().map_or(0, Vec::len);
        let degree = Degree::for_points(effective(&weights), spreads, most);
        let moments = moments(points, &weights);
        let size = degree.count(spreads);
        let values = in_ranges(points.len(), |range| {
            let mut found = Vec::with_capacity(range.len() * size);
            let each = points[range.clone()].iter().zip(&slopes[range]);
            each.for_each(|(x, slopes)| identities(x, slopes, &moments, degree, &mut found));
            found
        });
        let envelope = Envelope::new(size, std::iter::once(0..size));
        let mut found = Self { values, weights, envelope, products: Vec::new() };
        found.products = found.form();
        let [determinant] = found.envelope.factorise::<1>(found.products.as_chunks_mut().0);
        determinant.is_finite().then_some(found)
    }

    fn count(&self) -> usize {
        self.envelope.size()
    }

    /// The values at each point, with its weight.
    fn at_points(&self) -> impl Iterator<Item = (&[f64], f64)> {
        self.values.chunks_exact(self.count().max(1)).zip(self.weights.iter().copied())
    }

    /// The weighted products, with a slightly enlarged diagonal. A short row is worked out with a
    /// long one, so that every core has as much to do.
    fn form(&self) -> Vec<f64> {
        let size = self.count();
        let pairs = in_ranges(size.div_ceil(2), |range| {
            let short = self.rows(range.clone());
            let long = self.rows((size - range.end).max(size.div_ceil(2))..size - range.start);
            vec![(short, long)]
        });
        let (short, long): (Vec<_>, Vec<_>) = pairs.into_iter().unzip();
        let mut products: Vec<f64> =
            short.into_iter().chain(long.into_iter().rev()).flatten().collect();
        (0..size).for_each(|i| products[self.envelope.index(i, i)] *= 1.0 + HELD_BACK);
        products
    }

    /// These rows of the products, one after another.
    fn rows(&self, which: Range<usize>) -> Vec<f64> {
        let length = which.clone().map(|i| i + 1).sum();
        let mut products = vec![0.0; length];
        for (values, weight) in self.at_points() {
            let mut rest = &mut products[..];
            for i in which.clone() {
                let (row, after) = rest.split_at_mut(i + 1);
                let scaled = weight * values[i];
                row.iter_mut().zip(values).for_each(|(sum, other)| *sum += scaled * other);
                rest = after;
            }
        }
        products
    }

    /// The part of values at the points that the identities explain: a weighted least-squares fit.
    fn explained(&self, values: &[f64]) -> Vec<f64> {
        let mut shares = vec![0.0; self.count()];
        for ((functions, weight), value) in self.at_points().zip(values) {
            let scaled = weight * value;
            shares.iter_mut().zip(functions).for_each(|(sum, one)| *sum += scaled * one);
        }
        let (products, solved) = (self.products.as_chunks().0, shares.as_chunks_mut().0);
        self.envelope.forward::<1>(products, solved, 0, &mut Vec::new());
        self.envelope.backward(products, solved);
        self.at_points().map(|(functions, _)| dot(functions, &shares)).collect()
    }
}

/// Appends `q·(1 + slope) + x·q'` for each q, with q' its slope in its own coordinate.
fn identities(
    x: &[f64],
    slopes: &[f64],
    moments: &[(f64, f64)],
    degree: Degree,
    to: &mut Vec<f64>,
) {
    let standard = |j: usize| (x[j] - moments[j].0) / moments[j].1;
    to.extend(slopes.iter().map(|slope| 1.0 + slope));
    for (k, slope) in slopes.iter().enumerate() {
        let (own, rate) = (standard(k), x[k] / moments[k].1);
        let identity = |q: f64, q_slope: f64| q * (1.0 + slope) + rate * q_slope;
        if degree >= Degree::One {
            let slope_of = |j: usize| f64::from(u8::from(j == k));
            to.extend((0..x.len()).map(|j| identity(standard(j), slope_of(j))));
        }
        if degree >= Degree::Three {
            let square = own * own;
            to.extend([identity(square, 2.0 * own), identity(square * own, 3.0 * square)]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Points distributed as the absolute value of `times` a normal in two dimensions.
    fn folded(count: usize, times: f64) -> Vec<Vec<f64>> {
        let fold = |z: Vec<f64>| z.iter().map(|z| times * z.abs()).collect();
        crate::surprises(count, 2).into_iter().map(fold).collect()
    }

    /// `x·∂log p/∂x` of a normal.
    fn slopes_of(points: &[Vec<f64>]) -> Vec<Vec<f64>> {
        points.iter().map(|x| x.iter().map(|x| -x * x).collect()).collect()
    }

    /// Under |Z| itself every identity averages to zero. The bound is half the standard error of
    /// plain random points, because these points are even.
    #[test]
    fn identities_hold_under_the_posterior() {
        const COUNT: usize = 16_384;
        let points = folded(COUNT, 1.0);
        let weights = vec![1.0 / COUNT as f64; COUNT];
        let moments = moments(&points, &weights);
        for degree in [Degree::Zero, Degree::One, Degree::Three] {
            let mut all = Vec::new();
            for (x, slopes) in points.iter().zip(slopes_of(&points)) {
                identities(x, &slopes, &moments, degree, &mut all);
            }
            assert_eq!(all.len(), COUNT * degree.count(2));
            for k in 0..degree.count(2) {
                let each = || all.iter().skip(k).step_by(degree.count(2));
                let sum: f64 = each().sum();
                let squares: f64 = each().map(|one| one * one).sum();
                assert!(
                    sum.abs() < 0.5 * squares.sqrt(),
                    "{degree:?} {k}: {}",
                    sum / squares.sqrt()
                );
            }
        }
    }

    #[test]
    fn many_points_meet_more_identities() {
        let of = |count: f64, most| Degree::for_points(count, 6, most);
        // Six spreads have 42 identities up to the first power and 54 up to the third.
        let found = [125.0, 126.0, 107.0, 108.0].map(|count| of(count, Degree::One));
        assert_eq!(found, [Degree::Zero, Degree::One, Degree::Zero, Degree::Zero]);
        assert_eq!(of(108.0, Degree::Three), Degree::Three);
        assert_eq!(of(107.0, Degree::Three), Degree::Zero);
        assert_eq!(of(1e9, Degree::Zero), Degree::Zero);
    }

    /// For n random normal values the standard error of the mean is `1/√n` standard deviations, and
    /// that of the standard deviation is `1/√(2n)` (textbook). The identities determine x², so it
    /// has no error left.
    #[test]
    fn errors_are_those_of_random_points_less_what_identities_hold() {
        let points = folded(4096, 1.0);
        let other = crate::surprises(4096, 3);
        let even = vec![1.0 / 4096.0; 4096];
        let found = balanced(&points, &slopes_of(&points), even, Degree::One, 1.0);
        let values = |of: fn(f64) -> f64| other.iter().map(|z| of(z[2])).collect::<Vec<_>>();
        let error = found.error_of(&values(|z| z));
        assert!((error * 64.0 - 1.0).abs() < 0.02, "{error}");
        let of_square = found.error(points.iter().map(|x| x[0] * x[0] - 1.0).collect());
        assert!(of_square * 64.0 < 0.05, "{of_square}");
        // ±1 in a tenth of the points, else 0: the variance is 0.1, and the square's sd is 0.3.
        let share = found.error_of(&values(|z| if z.abs() > 1.644_854 { z.signum() } else { 0.0 }));
        assert!((share * 64.0 - 1.5).abs() < 0.02, "{share}");
    }

    /// `|Z|` in two dimensions, from points drawn as `1.2·|Z|` but weighted as if drawn from `|Z|`.
    /// Second moments are off by 44 % before the correction, and nearly right after it.
    #[test]
    fn moments_of_wrong_weights_are_put_right() {
        let points = folded(256, 1.2);
        let moment = |weights: &[f64], power| {
            points.iter().zip(weights).map(|(x, w)| w * x[0].powi(power)).sum::<f64>()
        };
        let even = vec![1.0 / 256.0; 256];
        assert!((moment(&even, 2) - 1.44).abs() < 0.05);
        let found = balanced(&points, &slopes_of(&points), even, Degree::Three, 1.0);
        let relative = found.weights.iter().map(|w| (w * 256.0 - 1.0).powi(2)).sum::<f64>();
        assert!((relative / 256.0).sqrt() > 0.2, "{relative}");
        assert!((found.weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        // E|Z| = √(2/π), E Z² = 1.
        assert!((moment(&found.weights, 1) - 0.797_885).abs() < 0.02, "{found:?}");
        assert!((moment(&found.weights, 2) - 1.0).abs() < 0.02, "{}", moment(&found.weights, 2));
    }
}
