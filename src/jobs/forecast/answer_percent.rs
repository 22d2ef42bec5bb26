//! Swell in per cent of the fore-edge.

use crate::jobs::plan_spec::answer_band::Band;
use crate::model::Prediction;
use serde::Serialize;

/// Quantiles of the swell in per cent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PercentRange {
    pub q05: f64,
    /// Median.
    pub q50: f64,
    /// 95 % quantile.
    pub q95: f64,
}

impl PercentRange {
    pub(crate) fn of(prediction: &Prediction) -> Self {
        let quantile = |p| prediction.percent_quantile(p);
        Self { q05: quantile(0.05), q50: quantile(0.5), q95: quantile(0.95) }
    }

    pub(crate) fn each(self) -> [f64; 3] {
        [self.q05, self.q50, self.q95]
    }
}

/// The middle half of the swell in per cent: its 25 and 75 % quantiles.
pub(crate) fn middle_half(prediction: &Prediction) -> (f64, f64) {
    (prediction.percent_quantile(0.25), prediction.percent_quantile(0.75))
}

/// The chance of meeting the target, when there is one.
pub(crate) fn chance(prediction: &Prediction, target: Option<&Band>) -> Option<f64> {
    target.map(|band| prediction.chance(band.low_percent, band.high_percent))
}
