//! A plan's swell, its odds, and nominal figures beside it.

use super::answer_advice::{Advice, advise};
use super::answer_beyond::Beyond;
use super::answer_leaning::Leaning;
use super::answer_percent::{PercentRange, chance};
use super::answer_tried::Tried;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::doubt::answer_apart::Doubtful;
use crate::jobs::fitted::Bench;
use crate::jobs::plan_spec::answer_band::Band;
use crate::model::mixed::Summary;
use crate::model::{BudgetLine, Gaussian, Plan, Prediction, SwellFit};
use crate::trade::{Division, Guards, LeftOver, Name, SpineGeometry};
use crate::units::{fields, fields_of};
use serde::{Serialize, Serializer};

/// The forecast from the beliefs alone, without any trial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NominalForecast {
    /// Mean swell in mm.
    pub swell_mm: f64,
    pub percent: PercentRange,
    pub chance: Option<f64>,
}

fields_of! { NominalForecast, |it|
    "swell_mm": it.swell_mm,
    "swell_percent": it.percent.q50,
    "swell_percent_q05": it.percent.q05,
    "swell_percent_q95": it.percent.q95,
    "chance": it.chance,
}

/// The swell that the geometry of a spine needs on the predicted fore-edge: an approximation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WantedByGeometry {
    pub round_degrees: f64,
    pub shoulder_mm: f64,
    pub swell_mm: f64,
    /// The same in per cent of the fore-edge.
    pub swell_percent: f64,
}

/// Leaves that did not fill their sections, and what is done about them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Divided {
    pub division: Division,
    pub way: LeftOver,
}

impl Divided {
    /// The blank leaves that fill a section or complete a sheet.
    pub fn blanks(&self) -> u32 {
        let (_, blanks) = self.division.with_blanks();
        match self.way {
            LeftOver::Blank => blanks,
            LeftOver::Smaller => {
                self.division.smaller_section().map_or(blanks, |(_, blanks)| blanks)
            }
        }
    }
}

/// What was said about a plan besides the plan itself. It is kept with a forecast.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    pub guards: Option<Guards>,
    pub by_geometry: bool,
    pub doubtful: Option<Doubtful>,
    /// Whether several hands have sewed, and none of them was named.
    pub new_hand: bool,
}

/// Everything reported about a planned book.
#[derive(Clone, Debug, Serialize)]
pub struct Forecast {
    #[serde(flatten, serialize_with = "with_extent")]
    pub plan: Plan,
    pub trials_used: usize,
    #[serde(serialize_with = "whole")]
    pub effective_draws: f64,
    /// Fore-edge in mm.
    #[serde(rename = "fore_edge_mm")]
    pub fore_edge: Gaussian,
    /// Swell in mm.
    #[serde(rename = "swell_mm")]
    pub swell: Summary,
    #[serde(rename = "swell_percent")]
    pub percent: PercentRange,
    pub target: Option<Band>,
    pub chance: Option<f64>,
    /// The swell that the geometry of the spine needs, if it was given.
    pub geometry: Option<WantedByGeometry>,
    /// The runs whose leaves did not fill their sections.
    #[serde(rename = "left_over")]
    pub divided: Vec<Divided>,
    #[serde(rename = "rests_on")]
    pub grounds: Grounds,
    pub nominal: NominalForecast,
    pub budget: Vec<BudgetLine>,
    /// What would reduce the uncertainty most.
    #[serde(skip)]
    pub advice: Advice,
    /// The same under beliefs and spreads twice as wide; `None` if that fit failed.
    #[serde(rename = "if_twice_as_wide")]
    pub leaning: Option<Leaning>,
    #[serde(flatten)]
    pub beyond: Beyond,
    /// The hand of the plan, if it names one; empty for that of trials without a name.
    #[serde(skip)]
    pub hand: Option<String>,
    #[serde(skip)]
    pub said: Said,
    /// The name it was kept under, if any.
    pub kept: Option<Name>,
}

/// A plan with the sections and leaves of the whole book beside it.
fn with_extent<S: Serializer>(plan: &Plan, serializer: S) -> Result<S::Ok, S::Error> {
    let (sections, leaves) = (plan.sections(), plan.leaves());
    fields!(serializer, "plan": plan, "sections": sections, "leaves": leaves)
}

/// Writes a fractional count as the nearest whole number.
pub(crate) fn whole<S: Serializer>(count: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_u64(count.round() as u64)
}

/// Number of sections, sheets of a smaller one among them, and number of blank leaves.
struct Filled(u32, Option<u16>, u32);

fields_of! { Filled, |it|
    let Self(sections, sheets, blanks) = it;
    "sections": sections, "smaller_section_sheets": sheets, "blank_leaves": blanks,
}

// What was done with the leaves, and the result of both ways.
fields_of! { Divided, |it|
    let Self { division, way } = *it;
    let (sections, blanks) = division.with_blanks();
    let smaller = division.smaller_section();
    let full = division.full_sections();
    "leaves": division.leaves(),
    "sheets": division.sheets(),
    "way": way,
    "blank": Filled(sections, None, blanks),
    "smaller": smaller.map(|(sheets, blanks)| Filled(full + 1, Some(sheets), blanks)),
}

impl Forecast {
    #[must_use]
    pub fn beside(mut self, geometry: Option<SpineGeometry>) -> Self {
        let fore_edge_mm = self.fore_edge.mean;
        self.geometry = geometry.map(|wanted| WantedByGeometry {
            round_degrees: wanted.degrees(),
            shoulder_mm: wanted.shoulder_mm(),
            swell_mm: wanted.swell_mm(fore_edge_mm),
            swell_percent: wanted.swell_percent(fore_edge_mm),
        });
        self
    }
}

pub fn forecast(bench: &Bench, plan: Plan, target: Option<Band>) -> Forecast {
    let Bench { observations, fit, .. } = bench;
    let prediction = fit.predict(&plan);
    let budget = fit.budget(&plan, &prediction);
    let beyond = Tried::of(observations).beyond(&plan);
    let wider = bench.wider().map(|fit| fit.predict(&plan));
    let basis = Basis { fit, prediction, wider, budget };
    Forecast { beyond, ..predicted(bench, plan, target, basis) }
}

/// A fit, its prediction of a plan, the same with beliefs twice as wide, and the uncertainty budget.
pub(crate) struct Basis<'f> {
    pub fit: &'f SwellFit,
    pub prediction: Prediction,
    pub wider: Option<Prediction>,
    pub budget: Vec<BudgetLine>,
}

/// The forecast of `plan` from a fit that may know more than the book. Its `beyond` is still empty.
pub(crate) fn predicted(
    bench: &Bench,
    plan: Plan,
    target: Option<Band>,
    Basis { fit, prediction, wider, budget }: Basis<'_>,
) -> Forecast {
    let untried = bench.nominal.predict(&plan.untried());
    let swell = prediction.swell.summary();
    let leaning = wider.map(|wider| Leaning::of(&swell, &wider, target.as_ref()));
    Forecast {
        divided: Vec::new(),
        geometry: None,
        trials_used: fit.trials_used(),
        grounds: bench.grounds.clone(),
        effective_draws: fit.record().effective_draws,
        fore_edge: prediction.fore_edge,
        swell,
        leaning,
        percent: PercentRange::of(&prediction),
        chance: chance(&prediction, target.as_ref()),
        nominal: NominalForecast {
            swell_mm: untried.swell.mean(),
            percent: PercentRange::of(&untried),
            chance: chance(&untried, target.as_ref()),
        },
        advice: advise(&plan, &budget, &bench.observations),
        beyond: Beyond::default(),
        kept: None,
        hand: plan.hand.map(|level| bench.observations.hands[level].clone()),
        said: Said::default(),
        budget,
        target,
        plan,
    }
}
