use crate::trade::{Edge, Ends, Hardness, Name, Place, State};
use jiff::civil::Date;
use serde::{Serialize, Serializer};
use thiserror::Error;

#[derive(Debug, Error)]
pub enum ObserveError {
    /// A trial names a paper or thread that the book does not have.
    #[error("trial '{trial}' names {what} '{name}', which the book does not have")]
    Missing {
        trial: Name,
        /// `paper` or `thread`.
        what: &'static str,
        name: Name,
    },
}

/// A paper as the model sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperLevel {
    pub name: Name,
    pub caliper_mm: f64,
    pub hardness: Hardness,
}

/// A thread as the model sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadLevel {
    pub name: Name,
    pub diameter_mm: f64,
}

/// A trial as the model sees it. Papers, threads and hands are indices into their lists.
#[derive(Clone, Debug, PartialEq)]
pub struct Sewn {
    pub name: Name,
    pub date: Option<Date>,
    pub paper: usize,
    pub thread: usize,
    pub hand: usize,
    /// Sections n.
    pub sections: f64,
    /// Sheets in a section, s.
    pub sheets: f64,
    /// Sections sewn in one traverse, m.
    pub on: u8,
    /// Sections sewn all along regardless of `on`, before and after the others.
    pub ends: Ends,
    /// Nominal thread build-up D in mm: diameter × effective sections.
    pub build_up_mm: f64,
    /// Leaves × caliper, in mm.
    pub leaves_mm: f64,
    pub boned: bool,
    pub guards_mm: f64,
}

/// The swell of one block in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// Index into [`super::Observations::trials`].
    pub trial: usize,
    pub state: State,
    /// `W = S̄ − F̄` less the guards, in mm.
    pub swell_mm: f64,
    /// Noise variance of the swell, in mm².
    pub variance: f64,
    /// Effective number of readings at the spine.
    pub spine_readings: f64,
    /// Effective number of readings at the fore-edge.
    pub fore_edge_readings: f64,
    /// F̄ in mm.
    pub fore_edge_mm: f64,
}

/// How the readings of a set are weighted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weighing {
    /// A reading out of line with the others of its set counts less; see docs/slips.md.
    Judged,
    /// Every reading counts the same, whatever its value.
    Equal,
}

/// A reading that counts less than the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DownWeighted {
    pub trial: Name,
    pub state: State,
    #[serde(serialize_with = "in_words")]
    pub edge: Edge,
    pub place: Place,
    pub value_mm: f64,
    /// Its weight, above zero and below one.
    pub weight: f64,
}

fn in_words<S: Serializer>(edge: &Edge, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(edge)
}
