//! The uncertainty of one swell figure. Source of the method: JCGM 100:2008, *Guide to the
//! expression of uncertainty in measurement* (GUM).

use super::components::ComponentKind;
use super::quantiles::student_t_quantile;
use super::study::Study;
use serde::{Serialize, Serializer};

/// The coverage factor of the expanded uncertainty (GUM 6.3.3: about 95 % with many degrees of
/// freedom).
const COVERAGE: f64 = 2.0;

/// How a swell was measured.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Measuring {
    /// Readings at each edge.
    pub readings: u32,
    pub swell_mm: f64,
    /// Resolution δ of the gauge in mm.
    pub resolution_mm: f64,
    /// Largest relative error of the gauge's scale, either way.
    pub scale_error: f64,
}

/// A source of uncertainty in a swell figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DoubtSource {
    /// Readings that do not repeat.
    #[serde(rename = "repeat_readings")]
    Repeats,
    /// An operator who reads one edge high and another low.
    OperatorByPart,
    /// Rounding to the gauge's resolution.
    Resolution,
    /// An error of the gauge's scale.
    #[serde(rename = "gauge_scale")]
    Scale,
}

/// How an uncertainty was evaluated: GUM 4.2 and 4.3.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoubtKind {
    /// Type A: from repeated readings.
    Counted,
    /// Type B: from what is known about the gauge.
    Known,
}

impl DoubtKind {
    /// Its letter in the guide.
    pub fn letter(self) -> &'static str {
        match self {
            Self::Counted => "A",
            Self::Known => "B",
        }
    }
}

impl Serialize for DoubtKind {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.letter())
    }
}

/// One line of the budget.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Doubt {
    pub source: DoubtSource,
    #[serde(rename = "type")]
    pub kind: DoubtKind,
    /// Standard uncertainty in mm of swell.
    pub standard_mm: f64,
    /// Degrees of freedom; `None` if the uncertainty is taken as known.
    pub df: Option<f64>,
    pub share: f64,
}

/// The uncertainty of one swell figure `W = S̄ − F̄`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SwellBudget {
    #[serde(flatten)]
    pub measuring: Measuring,
    pub doubts: Vec<Doubt>,
    /// Combined standard uncertainty in mm.
    pub combined_mm: f64,
    /// Coverage factor k.
    #[serde(rename = "k")]
    pub coverage: f64,
    /// Expanded uncertainty in mm: k times the combined one.
    pub expanded_mm: f64,
    /// Effective degrees of freedom; `None` if nothing was counted.
    pub effective_df: Option<f64>,
    /// The coverage factor for 95 % at those degrees of freedom.
    #[serde(rename = "k_95")]
    pub coverage_95: f64,
}

impl SwellBudget {
    /// The budget of a swell figure measured in this way, with the gauge of this study.
    ///
    /// - repeat readings: `s·√(2/r)`, r at each edge;
    /// - operator by part, if known: `√2·σ_PO`. A constant bias of an operator shifts both edges
    ///   alike and cancels in their difference;
    /// - resolution: `δ/√12` at each edge (GUM F.2.2.1);
    /// - scale: `W·a/√3`, a the bound of its relative error (GUM 4.3.7). It is the same at both
    ///   edges, so it counts for the swell, not for the thicknesses.
    ///
    /// Effective degrees of freedom by Welch and Satterthwaite, GUM G.4.1.
    pub fn new(study: &Study, measuring: Measuring) -> Self {
        let mut doubts = doubts(study, measuring);
        let variance: f64 = doubts.iter().map(|doubt| doubt.standard_mm.powi(2)).sum();
        let combined_mm = variance.sqrt();
        for doubt in &mut doubts {
            let share = (doubt.standard_mm / combined_mm).powi(2);
            doubt.share = if share.is_finite() { share } else { 0.0 };
        }
        let counted = |doubt: &Doubt| doubt.df.map(|df| doubt.standard_mm.powi(4) / df);
        let fourths: f64 = doubts.iter().filter_map(counted).sum();
        let effective_df = (fourths > 0.0).then(|| variance * variance / fourths);
        // If nothing was counted, the distribution is taken as normal: t with vast degrees of
        // freedom.
        let coverage_95 = student_t_quantile(0.975, effective_df.unwrap_or(f64::MAX));
        Self {
            measuring,
            doubts,
            combined_mm,
            coverage: COVERAGE,
            expanded_mm: COVERAGE * combined_mm,
            effective_df,
            coverage_95,
        }
    }
}

fn doubts(study: &Study, measuring: Measuring) -> Vec<Doubt> {
    let Measuring { readings, resolution_mm, scale_error, swell_mm } = measuring;
    let repeats = study.repeatability();
    // The shares are filled in once all lines are known.
    let doubt = |source, kind, standard_mm, df| Doubt { source, kind, standard_mm, df, share: 0.0 };
    let standard_mm = repeats.sd() * (2.0 / f64::from(readings)).sqrt();
    let counted = doubt(DoubtSource::Repeats, DoubtKind::Counted, standard_mm, repeats.df);
    let both = study.component(ComponentKind::OperatorByPart).map(|component| {
        let rows = study.table.rows();
        let df = rows.iter().find(|row| row.kind == component.kind).map(|row| row.squares.df);
        let standard_mm = (2.0 * component.variance).sqrt();
        doubt(DoubtSource::OperatorByPart, DoubtKind::Counted, standard_mm, df)
    });
    let known = |source, standard_mm| doubt(source, DoubtKind::Known, standard_mm, None);
    let resolution = known(DoubtSource::Resolution, resolution_mm / 6.0_f64.sqrt());
    let scale = known(DoubtSource::Scale, swell_mm.abs() * scale_error / 3.0_f64.sqrt());
    [Some(counted), both, Some(resolution), Some(scale)].into_iter().flatten().collect()
}
