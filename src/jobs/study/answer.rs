//! Studies how repeatable the readings are, and how many to take.

use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::model::SwellSpread;
use crate::model::variance::{
    Component, ComponentKind, Enough, LEVEL, Measuring, OperatorSpread, PAYS, Study, StudyError,
    SwellBudget,
};
use crate::observe::{Observations, Repeats};
use crate::units::fields_of;
use serde::Serialize;

/// The swell in mm for the budget if no book gives a usual one: that of a small book.
const USUAL_SWELL_MM: f64 = 3.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Origin {
    /// The trials of a book; the places along an edge count as repeats.
    Book,
    /// A separate sheet of repeated readings.
    Sheet,
}

/// The usual swell of a book, and how far two sewings of one kind differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualSwell {
    /// The middle of the book's swells, in mm.
    pub swell_mm: f64,
    /// Standard deviation between sewings in mm, at the book's middle build-up.
    pub sewing_mm: f64,
    pub sewings: usize,
}

/// With fewer sewings than this, the spread between them is still what the program assumes (our
/// choice, no source).
const ENOUGH_SEWINGS: usize = 4;

impl GaugeReport {
    /// Whether the spread between sewings is assumed rather than measured.
    pub fn is_assumed(&self) -> bool {
        self.sewings < ENOUGH_SEWINGS
    }
}

impl UsualSwell {
    /// `None` until a trial has both edges measured in a state with thread.
    pub fn of(bench: &Bench) -> Option<Self> {
        let seen = &bench.observations;
        let swells = seen.rows.iter().filter(|row| row.state.has_thread());
        let swells: Vec<f64> = swells.map(|row| seen.measured_swell_mm(row).abs()).collect();
        if swells.is_empty() {
            return None;
        }
        let spread = bench.fit.spreads().into_iter().find(|spread| spread.0 == SwellSpread::Sewing);
        let of_factor = spread.map_or(0.0, |(_, summary, _)| summary.q50);
        Some(Self {
            swell_mm: middle(swells),
            sewing_mm: of_factor * middle(build_ups(seen)),
            sewings: seen.sewn_trials().len(),
        })
    }
}

fn build_ups(seen: &Observations) -> Vec<f64> {
    seen.sewn_trials().into_iter().map(|trial| seen.trials[trial].build_up_mm).collect()
}

/// The middle value; the upper one of two.
fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// How the binder measures a swell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeUse {
    pub readings: u32,
    pub resolution_mm: f64,
    /// The share by which the gauge's scale may be off, either way.
    pub scale_error: f64,
    /// The swell in mm; `None` for the usual swell.
    pub swell_mm: Option<f64>,
}

impl GaugeUse {
    /// Three readings at each edge of the usual swell, on a scale that is off by at most two in a
    /// thousand, as common calipers promise (common practice, no source).
    pub fn usual(resolution_mm: f64) -> Self {
        Self { readings: 3, resolution_mm, scale_error: 0.002, swell_mm: None }
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct GaugeReport {
    pub origin: Origin,
    pub study: Study,
    pub enough: Enough,
    /// The spread between sewings in mm; `None` without a book that gives it.
    pub sewing_mm: Option<f64>,
    /// Sewings of that book. Of only a few, the spread is what the program assumes.
    pub sewings: usize,
    pub budget: SwellBudget,
}

// One object; lengths in mm, shares from 0 to 1.
fields_of! { GaugeReport, |it|
    let Self { origin, study, enough, budget, .. } = it;
    let components = study.components.iter();
    let components = components.map(|one| Shared(one, study.share(one.kind)));
    "source": origin,
    "confidence": LEVEL,
    "readings": study.readings,
    "parts": study.parts,
    "operators": study.operators.len(),
    "layout": study.layout.name(),
    "why_no_reproducibility": study.layout.why_not(),
    "anova": study.table.rows(),
    "repeatability_mm": study.repeatability().sd(),
    "repeatability_df": study.repeatability().df,
    "repeatability_limit_mm": study.limit_mm(),
    "gauge_share": study.share(ComponentKind::Gauge),
    "distinct_categories": study.categories(),
    "components": components.collect::<Vec<_>>(),
    "by_operator": study.operators.iter().map(Repeating).collect::<Vec<_>>(),
    "readings_that_pay": Paying(it, enough),
    "budget": budget,
}

struct Shared<'a>(&'a Component, Option<f64>);

fields_of! { Shared<'_>, |it|
    let Self(component, share) = it;
    let (low, high) = component.sd_limits();
    "source": component.kind,
    "raw_variance_mm2": component.raw,
    "variance_mm2": component.variance,
    "sd_mm": component.sd(),
    "low_mm": low,
    "high_mm": high,
    "share": share,
    "limits": component.method,
}

/// How well an operator repeats, if it can be determined.
struct Repeating<'a>(&'a OperatorSpread);

fields_of! { Repeating<'_>, |it|
    let OperatorSpread { operator, readings, repeatability } = it.0;
    let own = repeatability.as_ref();
    "operator": operator,
    "readings": readings,
    "df": own.and_then(|own| own.df),
    "sd_mm": own.map(Component::sd),
    "low_mm": own.map(|own| own.sd_limits().0),
    "high_mm": own.map(|own| own.sd_limits().1),
}

/// How many readings pay, with the spread between sewings.
struct Paying<'a>(&'a GaugeReport, &'a Enough);

fields_of! { Paying<'_>, |it|
    let Self(GaugeReport { sewing_mm, sewings, .. }, Enough { gains, readings }) = it;
    "readings": readings,
    "threshold": PAYS,
    "sewing_sd_mm": sewing_mm,
    "sewings": sewings,
    "by_readings": gains,
}

/// The study of the book's own readings, if anything was measured twice.
pub(crate) fn gauged(book: &Book, bench: &Bench) -> Option<GaugeReport> {
    let usage = GaugeUse::usual(book.config().resolution.mm());
    let repeats = Repeats::of_book(book, &bench.observations);
    gauge(Origin::Book, &repeats, UsualSwell::of(bench), usage).ok()
}

pub fn gauge(
    origin: Origin,
    repeats: &Repeats,
    usual: Option<UsualSwell>,
    gauge: GaugeUse,
) -> Result<GaugeReport, StudyError> {
    let study = Study::new(repeats)?;
    let sewing_mm = usual.map(|usual| usual.sewing_mm);
    let usual_mm = usual.map_or(USUAL_SWELL_MM, |usual| usual.swell_mm);
    let measuring = Measuring {
        readings: gauge.readings,
        resolution_mm: gauge.resolution_mm,
        scale_error: gauge.scale_error,
        swell_mm: gauge.swell_mm.unwrap_or(usual_mm),
    };
    let repeatability = study.repeatability().sd();
    let enough = Enough::new(repeatability, gauge.resolution_mm, sewing_mm.unwrap_or(0.0));
    let budget = SwellBudget::new(&study, measuring);
    let sewings = usual.map_or(0, |usual| usual.sewings);
    Ok(GaugeReport { origin, study, enough, sewing_mm, sewings, budget })
}
