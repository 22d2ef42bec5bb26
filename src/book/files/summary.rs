use serde::{Deserialize, Serialize};

/// How much data a summary is based on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SummaryCounts {
    pub papers: u64,
    pub threads: u64,
    /// Trials with an observation: a state measured at both edges.
    pub trials: u64,
    pub observations: u64,
    pub by_hardness: ByHardness,
    pub by_state: ByState,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ByHardness {
    pub hard: u64,
    pub medium: u64,
    pub soft: u64,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ByState {
    pub unsewn: u64,
    pub sewn: u64,
    pub pressed: u64,
    pub knocked: u64,
    #[serde(rename = "knocked+pressed")]
    pub knocked_pressed: u64,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SummaryRepeatability {
    /// Standard deviation of one reading in mm.
    pub sd_mm: f64,
    /// Its degrees of freedom, including the belief's four.
    pub df: f64,
}

/// What the readings of one bench say. The model knows the names.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SummaryFile {
    pub counts: SummaryCounts,
    pub repeatability: SummaryRepeatability,
    /// The coefficients, in the order of the next two.
    pub coefficients: Vec<String>,
    /// Information on the coefficients: the lower triangle, row by row.
    pub information: Vec<Vec<f64>>,
    /// Information times estimate.
    pub weighted: Vec<f64>,
    /// The spreads, in the order of `log_likelihood`.
    pub spreads: Vec<String>,
    /// The values of a spread at which its log likelihood is given.
    pub spreads_at: Vec<f64>,
    /// For each spread, its log likelihood at those values minus the greatest.
    pub log_likelihood: Vec<Vec<f64>>,
}
