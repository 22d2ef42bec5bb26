//! How many readings pay.

use serde::Serialize;

/// A further reading at each edge pays while it narrows a swell figure by at least this share
/// (common practice, no source).
pub const PAYS: f64 = 0.05;
/// The most readings at one edge that are considered.
const MOST: u32 = 30;

/// A swell figure from a given number of readings at each edge.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gain {
    /// Readings at each edge.
    pub readings: u32,
    pub sd_mm: f64,
    /// The share by which one more reading at each edge would narrow it.
    pub next_saves: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Enough {
    /// From one reading at each edge to one more than pays.
    pub gains: Vec<Gain>,
    /// The number of readings at each edge after which another does not pay; [`None`] if thirty are
    /// not enough for that.
    pub readings: Option<u32>,
}

impl Enough {
    /// `sd(r)² = 2·s²/r + 2·δ²/12 + τ²`: s the repeatability, δ the gauge's resolution, τ the
    /// spread between sewings, which readings cannot reduce. All are in mm.
    pub fn new(repeatability_mm: f64, resolution_mm: f64, sewing_mm: f64) -> Self {
        let fixed = resolution_mm * resolution_mm / 6.0 + sewing_mm * sewing_mm;
        let sd = |readings: u32| {
            (2.0 * repeatability_mm * repeatability_mm / f64::from(readings) + fixed).sqrt()
        };
        let gain = |readings: u32| {
            let (now, next) = (sd(readings), sd(readings + 1));
            let next_saves = if now > 0.0 { 1.0 - next / now } else { 0.0 };
            Gain { readings, sd_mm: now, next_saves }
        };
        let readings = (1..=MOST).find(|readings| gain(*readings).next_saves < PAYS);
        let last = readings.map_or(MOST, |readings| (readings + 1).min(MOST));
        Self { gains: (1..=last).map(gain).collect(), readings }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: √(1 − 1/(r + 1)) is above 0.95 from r = 10 on, since 1 − 0.95² = 0.0975.
    #[test]
    fn without_anything_else_ten_readings_pay() {
        assert_eq!(Enough::new(0.05, 0.0, 0.0).readings, Some(10));
    }

    #[test]
    fn what_no_reading_takes_away_makes_fewer_pay() {
        assert_eq!(Enough::new(0.05, 0.0, 0.5).readings, Some(1));
        let some = Enough::new(0.05, 0.01, 0.05);
        // 0.0025167 mm² stay; 0.06468 mm with three, 0.06137 with four, 0.05930 with five.
        assert_eq!((some.readings, some.gains.len()), (Some(4), 5));
        assert!((some.gains[2].sd_mm - 0.06468).abs() < 1e-5);
        assert!((some.gains[2].next_saves - (1.0 - 0.06137 / 0.06468)).abs() < 1e-4);
        assert_eq!(Enough::new(0.0, 0.0, 0.0).readings, Some(1));
    }
}
