//! Figures of the engine compared with the slow model's, which have an error of their own.

use crate::support::dense_draws::Draws;
use swellbook::model::mixed::{Summary, normal_cdf};
use swellbook::model::{Gaussian, Prediction};

/// The kinds of figures that are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Mean,
    Quantile,
    Chance,
    SpreadMean,
    SpreadQuantile,
    Share,
}

impl Kind {
    pub const ALL: [Self; 6] = [
        Self::Mean,
        Self::Quantile,
        Self::Chance,
        Self::SpreadMean,
        Self::SpreadQuantile,
        Self::Share,
    ];

    /// The difference allowed, as a share of the sd of the predicted quantity; absolute for chances
    /// and shares. No figure given to a binder may show that draws integrate the spreads.
    pub fn tolerance(self) -> f64 {
        match self {
            Self::Mean => 0.02,
            Self::Quantile => 0.05,
            Self::Chance | Self::Share => 0.01,
            Self::SpreadMean => 0.02,
            Self::SpreadQuantile => 0.05,
        }
    }

    /// The largest standard error of the slow model, as a share of the tolerance. It is worked out
    /// for independent draws. A Latin hypercube has less, most of all for the spreads, which it
    /// stratifies one by one.
    fn slow_error(self) -> f64 {
        match self {
            Self::Mean | Self::Quantile | Self::Chance | Self::Share => 0.3,
            Self::SpreadMean | Self::SpreadQuantile => 0.55,
        }
    }
}

/// Fore-edges are sums and products of a few terms.
const ALGEBRA: f64 = 1e-9;

/// A figure of the slow model with its Monte Carlo standard error.
type Estimate = (f64, f64);

/// The largest difference of each kind, and everything beyond its tolerance.
#[derive(Default)]
pub struct Found {
    pub worst: [f64; 6],
    pub failures: Vec<String>,
}

impl Found {
    /// Compares `ours` with `theirs`, in units of `unit`.
    pub fn compare(&mut self, what: &str, kind: Kind, ours: f64, theirs: Estimate, unit: f64) {
        let (difference, error) = ((ours - theirs.0).abs() / unit, theirs.1 / unit);
        let worst = &mut self.worst[kind as usize];
        *worst = worst.max(difference);
        let mut fail = |message: String| self.failures.push(format!("{what}, {kind:?}: {message}"));
        if difference.is_nan() || difference > kind.tolerance() {
            fail(format!("{ours} against {}, {difference:.4}", theirs.0));
        }
        if error.is_nan() || error > kind.slow_error() * kind.tolerance() {
            fail(format!("the slow side is uncertain by {error:.4}"));
        }
    }
}

/// The mean and variance of a normal fore-edge.
#[derive(Clone, Copy)]
pub struct Moments {
    pub mean: f64,
    pub variance: f64,
}

/// A mixture of normals over the draws.
pub struct Slow<'a> {
    pub draws: &'a Draws,
    pub parts: Vec<(f64, f64)>,
}

impl Slow<'_> {
    pub fn mean(&self) -> Estimate {
        let means: Vec<f64> = self.parts.iter().map(|part| part.0).collect();
        self.draws.average(&means)
    }

    pub fn sd(&self) -> f64 {
        let mean = self.mean().0;
        let squares: Vec<f64> = self.parts.iter().map(|(m, v)| v + (m - mean).powi(2)).collect();
        self.draws.average(&squares).0.sqrt()
    }

    /// The share at or below `x` of the ratio to a normal fore-edge, with its standard error.
    fn share(&self, x: f64, edge: Moments) -> Estimate {
        let one = |&(mean, variance): &(f64, f64)| {
            normal_cdf((x * edge.mean - mean) / (variance + x * x * edge.variance).sqrt())
        };
        self.draws.average(&self.parts.iter().map(one).collect::<Vec<_>>())
    }

    /// By the secant method, from a bracket given by the normal with the same moments. The slope of
    /// the cdf turns the error of a share into the error of the quantile.
    fn quantile(&self, p: f64, edge: Moments) -> Estimate {
        let (mean, sd) = (
            self.mean().0 / edge.mean,
            self.sd().hypot(self.mean().0 / edge.mean * edge.variance.sqrt()) / edge.mean,
        );
        let z = 1.6449 * (p - 0.5) / 0.45;
        let (mut from, mut to) = (mean + (z - 0.05) * sd, mean + (z + 0.05) * sd);
        let (mut low, mut high) = (self.share(from, edge), self.share(to, edge));
        for _ in 0..20 {
            let slope = (high.0 - low.0) / (to - from);
            let next = to + (p - high.0) / slope;
            if (next - to).abs() < 1e-7 * sd {
                return (next, high.1 / slope);
            }
            (from, low) = (to, high);
            (to, high) = (next, self.share(next, edge));
        }
        panic!("no quantile {p} of {mean} ± {sd}");
    }
}

/// For the number itself, instead of a ratio.
const PLAIN: Moments = Moments { mean: 1.0, variance: 0.0 };

pub fn compare_summary(found: &mut Found, what: &str, ours: &Summary, slow: &Slow) {
    let sd = slow.sd();
    found.compare(what, Kind::Mean, ours.mean, slow.mean(), sd);
    // An sd is a length like the mean, but has the tolerance of quantiles.
    found.compare(what, Kind::Quantile, ours.sd, (sd, 0.0), sd);
    for (p, ours) in [(0.05, ours.q05), (0.50, ours.q50), (0.95, ours.q95)] {
        found.compare(&format!("{what} q{p}"), Kind::Quantile, ours, slow.quantile(p, PLAIN), sd);
    }
}

/// The quantile of weighted values. Its standard error is the error of its share, turned by the
/// density around it.
fn of_values(values: &[f64], draws: &Draws, p: f64) -> Estimate {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let at = |p: f64| {
        let mut sum = 0.0;
        let passed = |&&i: &&usize| {
            sum += draws.weights[i];
            sum >= p
        };
        values[*order.iter().find(passed).unwrap_or(&order[order.len() - 1])]
    };
    let quantile = at(p);
    let below: Vec<f64> = values.iter().map(|&v| f64::from(u8::from(v <= quantile))).collect();
    let width = at((p + 0.02).min(1.0)) - at((p - 0.02).max(0.0));
    (quantile, draws.average(&below).1 * width / 0.04)
}

pub fn compare_spread(
    found: &mut Found,
    what: &str,
    ours: &Summary,
    values: &[f64],
    draws: &Draws,
) {
    let mean = draws.average(values);
    let squares: Vec<f64> = values.iter().map(|value| (value - mean.0).powi(2)).collect();
    let sd = draws.average(&squares).0.sqrt();
    found.compare(what, Kind::SpreadMean, ours.mean, mean, sd);
    for (p, ours) in [(0.05, ours.q05), (0.50, ours.q50), (0.95, ours.q95)] {
        found.compare(
            &format!("{what} q{p}"),
            Kind::SpreadQuantile,
            ours,
            of_values(values, draws, p),
            sd,
        );
    }
}

/// Compares a prediction, given the mean and variance of its fore-edge.
pub fn compare_plan(found: &mut Found, what: &str, ours: &Prediction, slow: &Slow, edge: Moments) {
    compare_summary(found, what, &ours.swell.summary(), slow);
    let Gaussian { mean, sd } = ours.fore_edge;
    assert!(
        (mean - edge.mean).abs() < ALGEBRA && (sd - edge.variance.sqrt()).abs() < ALGEBRA,
        "{what}"
    );
    let quantiles = [0.05, 0.50, 0.95].map(|p| (p, slow.quantile(p, edge)));
    let sd = 100.0 * (quantiles[2].1.0 - quantiles[0].1.0) / (2.0 * 1.6449);
    for (p, (ratio, error)) in quantiles {
        let percent = (100.0 * ratio, 100.0 * error);
        found.compare(
            &format!("{what} % q{p}"),
            Kind::Quantile,
            ours.percent_quantile(p),
            percent,
            sd,
        );
    }
    for (low, high) in [(0.0, 8.0), (3.0, 15.0), (12.0, 22.0), (25.0, 35.0)] {
        let (low_share, high_share) =
            (slow.share(low / 100.0, edge), slow.share(high / 100.0, edge));
        let chance = (high_share.0 - low_share.0, high_share.1.hypot(low_share.1));
        found.compare(
            &format!("{what} {low}..{high} %"),
            Kind::Chance,
            ours.chance(low, high),
            chance,
            1.0,
        );
    }
}
