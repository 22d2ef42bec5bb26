//! What an observation is made of.

use crate::trade::{Edge, Hardness, Name, Place, State};
use jiff::civil::Date;
use serde::{Serialize, Serializer};
use thiserror::Error;

/// Why readings could not be made into a table.
#[derive(Debug, Error)]
pub enum ObserveError {
    /// A trial names a paper or thread that the book does not have.
    #[error("trial '{trial}' names {what} '{name}', which the book does not have")]
    Missing {
        /// The trial.
        trial: Name,
        /// What it names.
        what: &'static str,
        /// The name.
        name: Name,
    },
}

/// A paper as the model sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperLevel {
    /// Its name.
    pub name: Name,
    /// Thickness of one leaf in mm.
    pub caliper_mm: f64,
    /// Its hardness.
    pub hardness: Hardness,
}

/// A thread as the model sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadLevel {
    /// Its name.
    pub name: Name,
    /// Laid diameter in mm.
    pub diameter_mm: f64,
}

/// A trial as the model sees it. Papers, threads and hands are places in their lists.
#[derive(Clone, Debug, PartialEq)]
pub struct Sewn {
    /// Its name.
    pub name: Name,
    /// The day it was sewn.
    pub date: Option<Date>,
    /// Its paper.
    pub paper: usize,
    /// Its thread.
    pub thread: usize,
    /// Who sewed it.
    pub hand: usize,
    /// Sections n.
    pub sections: f64,
    /// Sheets in a section, s.
    pub sheets: f64,
    /// Sections sewn in one traverse, m.
    pub on: u8,
    /// Nominal thread build-up D in mm: diameter × effective sections.
    pub build_up_mm: f64,
    /// Leaves × caliper, in mm.
    pub leaves_mm: f64,
    /// Whether the folds were boned down.
    pub boned: bool,
    /// Build-up of repairs at the fold in mm.
    pub guards_mm: f64,
}

/// The swell of one block in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// The trial, a place in [`super::Observations::trials`].
    pub trial: usize,
    /// The state.
    pub state: State,
    /// `W = S̄ − F̄` less the guards, in mm.
    pub swell_mm: f64,
    /// Noise variance of the swell, in mm².
    pub variance: f64,
    /// Readings at the spine.
    pub spine_readings: f64,
    /// Readings at the fore-edge.
    pub fore_edge_readings: f64,
    /// F̄ in mm.
    pub fore_edge_mm: f64,
}

/// How the readings of a set count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weighing {
    /// A reading out of line with the others of its set counts less; see docs/slips.md.
    Judged,
    /// Every reading counts the same, whatever it says.
    Equal,
}

/// A reading that counts less than the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DownWeighted {
    /// Its trial.
    pub trial: Name,
    /// The state.
    pub state: State,
    /// The edge.
    #[serde(serialize_with = "in_words")]
    pub edge: Edge,
    /// The place measured.
    pub place: Place,
    /// The reading in mm.
    pub value_mm: f64,
    /// Its weight, above zero and below one.
    pub weight: f64,
}

fn in_words<S: Serializer>(edge: &Edge, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(edge)
}
