//! How much an answer leans on the starting beliefs.

use super::answer_percent::{PercentRange, chance};
use crate::jobs::plan_spec::answer_band::Band;
use crate::model::Prediction;
use crate::model::mixed::Summary;
use serde::Serialize;

/// The factor by which beliefs and spreads are widened for comparison.
pub(crate) const TIMES: f64 = 2.0;
/// How much wider the range must get for an answer to lean on beliefs heavily, or at all.
const HEAVY: f64 = 1.5;
const SOME: f64 = 1.15;

/// The forecast if everything believed were twice as uncertain, and papers, threads, sewings and
/// hammerings differed twice as much.
#[derive(Clone, Debug, Serialize)]
pub struct Leaning {
    /// Swell in mm.
    #[serde(rename = "swell_mm")]
    pub swell: Summary,
    #[serde(rename = "swell_percent")]
    pub percent: PercentRange,
    pub chance: Option<f64>,
    /// The width of its 90 % range of the swell in mm, over that of the forecast.
    pub times_as_wide: f64,
}

/// How much an answer leans on beliefs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// It rests on trials.
    Little,
    /// It rests on both.
    Some,
    /// It rests mostly on beliefs.
    Heavy,
}

impl Leaning {
    /// Compares a forecast with this swell to `wider`, the same plan under the wider beliefs.
    pub(crate) fn of(swell: &Summary, wider: &Prediction, target: Option<&Band>) -> Self {
        let wide = wider.swell.summary();
        Self {
            times_as_wide: (wide.q95 - wide.q05) / (swell.q95 - swell.q05),
            swell: wide,
            percent: PercentRange::of(wider),
            chance: chance(wider, target),
        }
    }

    /// How much the answer leans on beliefs, in three grades.
    pub fn weight(&self) -> Weight {
        if self.times_as_wide >= HEAVY {
            Weight::Heavy
        } else if self.times_as_wide >= SOME {
            Weight::Some
        } else {
            Weight::Little
        }
    }
}
