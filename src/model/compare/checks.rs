//! Compares predictions of left-out trials with what a sound fit would give.

use super::block::{Block, Expected};
use super::doubt::chance_of_worst;
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{RngCore, SeedableRng};
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// Random orders compared with the true one.
const SHUFFLES: usize = 4_999;
/// Seed of the random orders.
const SEED: u64 = 1;
/// Smallest tail probability used: below it, normal quantiles have no digits left.
const LEAST_TAIL: f64 = 1e-300;

/// A property of standardised left-out residuals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckKind {
    /// Their mean square: above 1 the ranges are too narrow, below 1 too wide.
    Scatter,
    /// The largest absolute residual.
    Largest,
    /// The mean product of neighbours in date order: above 0, neighbours are alike.
    Order,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PredictiveCheck {
    pub kind: CheckKind,
    /// The statistic as observed.
    pub value: f64,
    /// The chance of a value at least this extreme under a sound fit.
    pub chance: f64,
}

/// A trial's mean swell over its states as a normal deviate: the standard normal quantile of the
/// predicted probability below it. Over sound trials this is normal with mean 0 and variance 1.
/// `None` for a trial without a swell.
pub fn standardised(block: &Block, expected: &Expected) -> Option<f64> {
    let count = block.seen.len() as f64;
    let mean = block.seen.iter().map(|seen| seen.swell_mm).sum::<f64>() / count;
    let noise = block.seen.iter().map(|seen| seen.variance).sum::<f64>() / (count * count);
    let (below, above) = expected.mean.with_noise(noise).tails(mean);
    let tail = below.min(above).max(LEAST_TAIL);
    let deviate = Normal::standard().inverse_cdf(tail);
    (!block.seen.is_empty()).then_some(if below < above { deviate } else { -deviate })
}

/// Checks standardised residuals, one per trial. `dated` holds those with a date, in date order.
pub fn predictive_checks(all: &[f64], dated: &[f64]) -> Vec<PredictiveCheck> {
    [scatter(all), largest(all), order(dated)].into_iter().flatten().collect()
}

fn scatter(all: &[f64]) -> Option<PredictiveCheck> {
    let squares: f64 = all.iter().map(|z| z * z).sum();
    let chi = ChiSquared::new(all.len() as f64).ok()?;
    let chance = (2.0 * chi.cdf(squares).min(chi.sf(squares))).min(1.0);
    Some(PredictiveCheck { kind: CheckKind::Scatter, value: squares / all.len() as f64, chance })
}

fn largest(all: &[f64]) -> Option<PredictiveCheck> {
    let value = all.iter().map(|z| z.abs()).reduce(f64::max)?;
    let chance = chance_of_worst(2.0 * Normal::standard().sf(value), all.len());
    Some(PredictiveCheck { kind: CheckKind::Largest, value, chance })
}

/// Compares neighbours in date order with neighbours in random orders of the same residuals. The
/// chance is twice the smaller of two shares: the orders in which neighbours are at least as alike,
/// and those in which they are at least as opposed.
fn order(dated: &[f64]) -> Option<PredictiveCheck> {
    const LEAST: usize = 6;
    let mean = dated.iter().sum::<f64>() / dated.len() as f64;
    let mut away: Vec<f64> = dated.iter().map(|z| z - mean).collect();
    let product = |z: &[f64]| z.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>();
    let seen = product(&away);
    let mut random = Xoshiro256PlusPlus::seed_from_u64(SEED);
    let (mut up, mut down) = (1, 1);
    for _ in 0..SHUFFLES {
        for last in (1..away.len()).rev() {
            away.swap(last, (random.next_u64() % (last as u64 + 1)) as usize);
        }
        let other = product(&away);
        up += usize::from(other >= seen);
        down += usize::from(other <= seen);
    }
    let chance = (2.0 * up.min(down) as f64 / (SHUFFLES + 1) as f64).min(1.0);
    let value = seen / dated.len().saturating_sub(1).max(1) as f64;
    (dated.len() >= LEAST).then_some(PredictiveCheck { kind: CheckKind::Order, value, chance })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// χ² with two degrees of freedom has the tail e^−x/2. For 8 = 2² + 2² that is e^−4, doubled
    /// for both sides. The largest of two at 2: 1 − (1 − 0.0455)².
    #[test]
    fn scatter_and_the_largest_are_as_by_hand() {
        let checks = predictive_checks(&[2.0, -2.0], &[]);
        assert_eq!(checks.len(), 2);
        assert!((checks[0].value - 4.0).abs() < 1e-12);
        assert!((checks[0].chance - 2.0 * (-4.0_f64).exp()).abs() < 1e-9);
        let tail = 0.045_500_264_f64;
        assert!((checks[1].chance - (1.0 - (1.0 - tail).powi(2))).abs() < 1e-8);
    }

    /// Checked against all 720 orders, counted by another program. In 4.44 % of them neighbours are
    /// as alike, or as opposed, as in rising order. The mixed order lies in the middle.
    #[test]
    fn neighbours_that_are_alike_are_found() {
        let rising = [-2.5, -1.5, -0.5, 0.5, 1.5, 2.5];
        let found = order(&rising).unwrap();
        assert!((found.value - 1.75).abs() < 1e-12);
        assert!((found.chance - 0.0444).abs() < 0.01, "{found:?}");
        let mixed = order(&[0.5, -1.5, 2.5, 1.5, -2.5, -0.5]).unwrap();
        assert!(mixed.chance > 0.95, "{mixed:?}");
        assert_eq!(order(&rising[..5]), None);
    }
}
