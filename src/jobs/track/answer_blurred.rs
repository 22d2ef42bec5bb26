//! Adds the noise of the readings to a kept forecast, because a measured outcome includes that
//! noise and the forecast does not.

use crate::model::mixed::normal_cdf;
use crate::observe::Observation;
use crate::trade::{SwellQuantiles, Wanted};

/// Standard normal quantiles of 5, 25, 50, 75 and 95 %.
const NORMAL: [f64; 5] = [
    -1.644_853_626_951_472,
    -0.674_489_750_196_082,
    0.0,
    0.674_489_750_196_082,
    1.644_853_626_951_472,
];
/// Tolerance: an outcome exactly at a quantile counts as within it, whatever its last digit.
const LAST_DIGIT: f64 = 1e-9;

/// Standard deviation of `100·W/F` from the noise of its readings, to first order:
/// `100/F·√(var S̄ + (S̄/F̄)²·var F̄)`. The noise variance v of W is divided between the edges by
/// their numbers of readings.
pub(crate) fn noise_of(row: &Observation, percent: f64) -> f64 {
    let readings = row.spine_readings + row.fore_edge_readings;
    let at_spine = row.variance * row.fore_edge_readings / readings;
    let at_fore_edge = row.variance * row.spine_readings / readings;
    let ratio = 1.0 + percent / 100.0;
    100.0 / row.fore_edge_mm * (at_spine + ratio * ratio * at_fore_edge).sqrt()
}

/// The quantiles of a forecast, and the factor that moves an outcome's score towards the middle to
/// account for its noise.
#[derive(Clone, Copy)]
pub(crate) struct Blurred {
    quantiles: SwellQuantiles,
    scale: f64,
}

impl Blurred {
    /// `noise` is the standard deviation of the outcome's noise, in per cent of the fore-edge.
    pub fn new(quantiles: SwellQuantiles, noise: f64) -> Self {
        let (low, high) = quantiles.nine_in_ten();
        let sd = (high - low) / (NORMAL[4] - NORMAL[0]);
        // Coinciding quantiles define no scale.
        let scale = if sd > 0.0 { sd / sd.hypot(noise) } else { 1.0 };
        Self { quantiles, scale }
    }

    /// The share of the distribution below `percent`, by interpolating the quantiles on the scale
    /// of normal scores (extrapolating beyond the outer ones).
    pub fn share_below(self, percent: f64) -> f64 {
        normal_cdf(self.score(percent))
    }

    /// Whether the 50 % and the 90 % range hold `percent`.
    pub fn within(self, percent: f64) -> (bool, bool) {
        let far = self.score(percent).abs() - LAST_DIGIT;
        (far <= NORMAL[3], far <= NORMAL[4])
    }

    /// The chance that the measured outcome meets `wanted`, if the swell itself meets it with the
    /// chance `promised`.
    pub fn chance(self, wanted: &Wanted, promised: f64) -> f64 {
        let between = |one: Self| {
            one.share_below(wanted.high_percent()) - one.share_below(wanted.low_percent())
        };
        (promised + between(self) - between(Self { scale: 1.0, ..self })).clamp(0.0, 1.0)
    }

    fn score(self, percent: f64) -> f64 {
        let values = self.quantiles.values();
        // The segment of the value; values beyond the outer quantiles extrapolate the nearest one.
        let inner = values[1..4].iter().filter(|&&value| value < percent).count();
        let (low, high) = (values[inner], values[inner + 1]);
        // Coinciding quantiles define no scale, so the value is wholly on one side of them.
        let share = match percent - low {
            off if high > low => off / (high - low),
            off if off < 0.0 => f64::NEG_INFINITY,
            off if off > 0.0 => f64::INFINITY,
            _ => 0.5,
        };
        self.scale * (NORMAL[inner] + share * (NORMAL[inner + 1] - NORMAL[inner]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::State;

    fn quantiles() -> SwellQuantiles {
        SwellQuantiles::new([20.0, 24.0, 26.0, 28.0, 32.0]).unwrap()
    }

    #[test]
    fn an_outcome_at_a_quantile_has_its_share_below() {
        let known = Blurred::new(quantiles(), 0.0);
        for (percent, share) in
            [(20.0, 0.05), (24.0, 0.25), (26.0, 0.5), (28.0, 0.75), (32.0, 0.95)]
        {
            assert!((known.share_below(percent) - share).abs() < 1e-12, "{percent}");
            assert_eq!(known.within(percent), ((24.0..=28.0).contains(&percent), true));
        }
        assert!(known.share_below(12.0) < 0.001 && known.share_below(40.0) > 0.999);
        assert_eq!(known.within(32.1), (false, false));
        let between = known.share_below(30.0);
        assert!((0.75..0.95).contains(&between), "{between}");
    }

    #[test]
    fn quantiles_that_fall_together_still_part_below_from_above() {
        for noise in [0.0, 1.0] {
            let point = Blurred::new(SwellQuantiles::new([25.0; 5]).unwrap(), noise);
            assert!(point.share_below(24.0) <= 0.05 && point.share_below(26.0) >= 0.75);
            assert!((0.0..=1.0).contains(&point.share_below(25.0)));
        }
    }

    /// By hand: a normal forecast with the quantiles of sd 3 and noise of sd 4 is one of sd 5.
    #[test]
    fn noise_widens_what_an_outcome_is_held_against() {
        let normal = SwellQuantiles::new(NORMAL.map(|z| 30.0 + 3.0 * z)).unwrap();
        let blurred = Blurred::new(normal, 4.0);
        for z in [-1.5, 0.3, 1.0] {
            let share = blurred.share_below(30.0 + 5.0 * z);
            assert!((share - normal_cdf(z)).abs() < 1e-12, "{z}: {share}");
        }
        assert_eq!(blurred.within(30.0 + 5.0 * 1.6), (false, true));
        let wanted = Wanted::new(None, 27.0, 33.0).unwrap();
        let (one, blurry) = (2.0 * normal_cdf(1.0) - 1.0, 2.0 * normal_cdf(0.6) - 1.0);
        assert!((blurred.chance(&wanted, one) - blurry).abs() < 1e-12);
    }

    /// By hand: variance 0.02 of W shared evenly, F = 20 mm and S/F = 1.3.
    #[test]
    fn the_noise_of_both_edges_is_in_the_per_cent() {
        let row = Observation {
            trial: 0,
            state: State::Sewn,
            swell_mm: 6.0,
            variance: 0.02,
            spine_readings: 3.0,
            fore_edge_readings: 3.0,
            fore_edge_mm: 20.0,
        };
        let by_hand = 5.0 * (0.01_f64 + 1.69 * 0.01).sqrt();
        assert!((noise_of(&row, 30.0) - by_hand).abs() < 1e-12);
    }
}
