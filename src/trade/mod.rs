//! What a binder works with: paper, thread, sewing, states, trials, readings and targets.
//!
//! Plain values whose constructors refuse what cannot exist. Nothing here touches a file.

mod division;
mod formula;
mod geometry;
mod guards;
mod kept;
mod kept_plan;
mod limits;
mod name;
mod pairs;
mod paper;
mod pattern;
mod reading;
mod sewing;
mod spread;
mod state;
mod strength;
mod target;
mod thread;
mod thread_count;
mod thread_length;
mod trial;

pub use division::{Division, LeftOver};
pub use formula::{formula_advice, formula_sign};
pub use geometry::SpineGeometry;
pub use guards::{Guards, GuardsError};
pub use kept::{Aim, KeptForecast, QuantilesError, SwellQuantiles, Wanted, WantedError};
pub use kept_plan::{KeptBlock, KeptPlan, KeptPlanError, KeptRun};
pub use limits::{OutOfRange, Range, ranges};
pub use name::{Name, NameError};
pub use pairs::{Pairs, PairsError, parts, quoted_value};
pub use paper::{Hardness, Paper, caliper_from_stack};
pub use pattern::{Stretch, Supports, Traverse};
pub use reading::{
    Edge, Place, Reading, ReadingError, expected_thickness, hint, paired, thickness_range,
};
pub use sewing::{Sewing, SewingError};
pub use spread::{Spread, median};
pub use state::State;
pub use strength::{
    Caution, SUPPORTS_FOR_THREE_ON, Stuff, THICK_THREAD_MM, THIN_THREAD_MM, WANTED_ENDS,
    customary_ends, filled_sections, thickest_section_mm,
};
pub use target::{Target, TargetError, starting_targets};
pub use thread::{Material, Thread, ThreadError, diameter_from_wraps, laid_diameter};
pub use thread_count::{CountError, ThreadCount};
pub use thread_length::Height;
pub use trial::{Trial, TrialKind};

use thiserror::Error;

/// A word that is none of the words allowed in its place.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{found}' is not one of {allowed}")]
pub struct UnknownWord {
    /// The text found.
    pub found: String,
    /// The words allowed, as a list.
    pub allowed: &'static str,
}

impl UnknownWord {
    pub(crate) fn new(found: &str, allowed: &'static str) -> Self {
        Self { found: crate::units::shown(found), allowed }
    }
}
