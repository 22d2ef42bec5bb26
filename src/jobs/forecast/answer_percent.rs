//! Swell in per cent of the fore-edge.

use crate::jobs::plan_spec::answer_band::Band;
use crate::model::Prediction;
use serde::Serialize;

/// Quantiles of the swell in per cent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PercentRange {
    pub q05: f64,
    #[serde(skip)]
    pub q25: f64,
    pub q50: f64,
    #[serde(skip)]
    pub q75: f64,
    pub q95: f64,
}

impl PercentRange {
    pub(crate) fn of(prediction: &Prediction) -> Self {
        let quantile = |p| prediction.percent_quantile(p);
        let [q05, q25, q50, q75, q95] = [0.05, 0.25, 0.5, 0.75, 0.95].map(quantile);
        Self { q05, q25, q50, q75, q95 }
    }

    pub(crate) fn each(self) -> [f64; 3] {
        [self.q05, self.q50, self.q95]
    }
}

pub(crate) fn chance(prediction: &Prediction, target: Option<&Band>) -> Option<f64> {
    target.map(|band| prediction.chance(band.low_percent, band.high_percent))
}
