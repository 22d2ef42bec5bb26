use serde::Serialize;

/// Prior degrees of freedom of the variance of one reading.
const PRIOR_FREEDOM: f64 = 4.0;
/// Prior standard deviation of one reading, in mm (common practice, no source).
pub const PRIOR_SD_MM: f64 = 0.10;

/// The standard deviation of one reading, pooled over all sets.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Repeatability {
    #[serde(rename = "repeatability_mm")]
    pub sd_mm: f64,
    /// Degrees of freedom, the prior's four included.
    #[serde(rename = "repeatability_df")]
    pub df: f64,
}

impl Repeatability {
    /// `s² = (4·0.10² + Σ within-set SS) / (4 + Σ(r−1))`, from the squares in mm² within all sets
    /// and their degrees of freedom. Source: docs/model.md, "From readings to observations". What a
    /// set with readings out of line adds: docs/slips.md.
    pub(super) fn pooled(squares: f64, freedom: f64) -> Self {
        let (squares, df) = Self::with_belief(squares, freedom);
        Self { sd_mm: (squares / df).sqrt(), df }
    }

    /// Adds the prior to a within-set sum of squares in mm² and its degrees of freedom. Returns the
    /// numerator and the denominator of the pooled variance.
    pub(crate) fn with_belief(squares: f64, freedom: f64) -> (f64, f64) {
        (PRIOR_FREEDOM * PRIOR_SD_MM * PRIOR_SD_MM + squares, PRIOR_FREEDOM + freedom)
    }

    /// The repeatability limit in mm: two readings of one place differ by less than this in 95 % of
    /// cases, `1.96·√2·s`. Source: ISO 5725-6:1994, 4.1.4.
    pub fn limit_mm(self) -> f64 {
        1.96 * std::f64::consts::SQRT_2 * self.sd_mm
    }

    /// Variance of an observed swell in mm²: `s²·(1/r_S + 1/r_F) + 2·δ²/12`, where δ is the gauge's
    /// resolution.
    pub fn swell_variance(self, spines: f64, fore_edges: f64, resolution_mm: f64) -> f64 {
        let readings = self.sd_mm * self.sd_mm * (1.0 / spines + 1.0 / fore_edges);
        readings + 2.0 * resolution_mm * resolution_mm / 12.0
    }

    /// Variance in mm² of the mean of `readings` readings at one edge.
    pub fn edge_variance(self, readings: f64, resolution_mm: f64) -> f64 {
        self.sd_mm * self.sd_mm / readings + resolution_mm * resolution_mm / 12.0
    }
}
