//! The beliefs before the first trial, beside common practice, and what they mean for a typical
//! book.

use super::answer_grounds::{Grounds, Origin};
use super::answer_pooled::{PoolFault, pooled};
use crate::book::{ChosenPool, Config};
use crate::jobs::fitted::beliefs;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::plan_spec::answer_typical::TYPICAL;
use crate::model::{
    Beliefs, Coefficient, ModelError, Plan, PlannedPaper, PlannedThread, Run, SwellFit, SwellSpread,
};
use crate::trade::{Hardness, Name, Sewing, State};
use crate::units::fields_of;
use serde::Serialize;

/// Caliper of one leaf of the typical book, and diameter of its thread as laid in the fold, in mm
/// (common practice, no source).
const CALIPER_MM: f64 = 0.11;
const LAID_MM: f64 = 0.5;

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(crate) struct Believed {
    pub mean: f64,
    pub sd: f64,
    /// The part of `sd` that is variation between benches; `None` without a pool.
    pub between: Option<f64>,
}

/// All beliefs, in the order of the model.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Set {
    pub coefficients: Vec<(Coefficient, Believed)>,
    pub spreads: Vec<(SwellSpread, f64)>,
    /// Swell of the typical book, in per cent.
    pub example: PercentRange,
}

/// A set of beliefs that the book could start from instead.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Offered {
    /// Where the set comes from; `None` for common practice.
    pub origin: Option<Origin>,
    #[serde(rename = "beliefs")]
    pub set: Set,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Shown {
    /// Where the book's own beliefs come from.
    #[serde(rename = "rests_on")]
    pub grounds: Grounds,
    /// The typical book.
    pub example: Plan,
    pub now: Set,
    pub common_practice: Set,
    pub offered: Option<Offered>,
    pub chosen: bool,
}

fields_of! { Set, |it|
    let coefficients = it.coefficients.iter().map(|(name, belief)| (name.name(), belief));
    let spreads = it.spreads.iter().map(|(name, scale)| (name.name(), scale));
    "coefficients": coefficients.collect::<std::collections::BTreeMap<_, _>>(),
    "spreads": spreads.collect::<std::collections::BTreeMap<_, _>>(),
    "example_swell_percent": it.example,
}

impl Set {
    /// The beliefs and their prediction for the typical book, `plan`. `pool` gives the variation
    /// between benches.
    fn of(beliefs: &Beliefs, pool: Option<&ChosenPool>, plan: &Plan) -> Result<Self, ModelError> {
        let between = |name: &str| Some(pool?.pool.beliefs.get(name)?.between);
        let believed = |coefficient: Coefficient| {
            let belief = beliefs.coefficient(coefficient);
            let between = between(coefficient.name());
            (coefficient, Believed { mean: belief.mean, sd: belief.sd, between })
        };
        let prediction = SwellFit::nominal(beliefs)?.predict(plan);
        Ok(Self {
            coefficients: Coefficient::ALL.map(believed).to_vec(),
            spreads: SwellSpread::ALL.map(|spread| (spread, beliefs.scale(spread))).to_vec(),
            example: PercentRange::of(&prediction),
        })
    }
}

/// The settings of a book that starts from this pool, or from common practice without one.
pub(crate) fn starting_from(config: &Config, pool: Option<&ChosenPool>) -> Config {
    Config { pool: pool.cloned(), ..config.clone() }
}

pub(crate) fn check(pool: &ChosenPool) -> Result<(), PoolFault> {
    pooled(&pool.pool).map(|_| ())
}

/// What a book believes, and what it would believe if it started from `offered`: a pool, or common
/// practice. Beliefs set by hand go on top of either.
pub(crate) fn shown(
    config: &Config,
    offered: Option<Option<&ChosenPool>>,
) -> Result<Shown, ModelError> {
    let example = typical()?;
    let offer = |pool: Option<&ChosenPool>| {
        let beliefs = beliefs(&starting_from(config, pool))?;
        let set = Set::of(&beliefs, pool, &example)?;
        Ok::<_, ModelError>(Offered { origin: pool.map(Origin::of), set })
    };
    Ok(Shown {
        grounds: Grounds::of(config),
        now: Set::of(&beliefs(config)?, config.pool.as_ref(), &example)?,
        common_practice: Set::of(&Beliefs::default(), None, &example)?,
        offered: offered.map(offer).transpose()?,
        chosen: false,
        example,
    })
}

/// A typical book: medium paper, sewn all along, not boned, knocked down.
fn typical() -> Result<Plan, ModelError> {
    let impossible =
        |error: &dyn std::fmt::Display| ModelError::Plan { message: error.to_string() };
    let name = |text: String| text.parse::<Name>().map_err(|error| impossible(&error));
    let (sections, sheets) = TYPICAL;
    let sewing = Sewing::new(sections, sheets, 1, 0).map_err(|error| impossible(&error))?;
    let paper = PlannedPaper {
        name: name(format!("medium paper of {CALIPER_MM} mm"))?,
        level: None,
        caliper_mm: CALIPER_MM,
        hardness: Hardness::Medium,
    };
    let thread = PlannedThread {
        name: name(format!("a thread of {LAID_MM} mm"))?,
        level: None,
        diameter_mm: LAID_MM,
    };
    Plan::new(vec![Run { paper, thread, sewing, boned: false }], State::Knocked)
}
