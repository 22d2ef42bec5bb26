//! Readings become observations: set means, pooled repeatability, joins.
//!
//! What the model needs are plain values; a table for work elsewhere is made of them when asked for.

mod ratios;
mod repeatability;
mod repeats;
mod slips;
mod stock;
mod table;

pub use ratios::TrialRatio;
pub use repeatability::Repeatability;
pub use repeats::{Repeat, Repeats};

use crate::book::{Book, Entries};
use crate::trade::{Edge, Hardness, Name, Place, State};
use crate::units::Millimetres;
use jiff::civil::Date;
use polars::prelude::{DataFrame, PolarsResult};
use std::collections::BTreeSet;
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
    /// The trial, a place in [`Observations::trials`].
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
#[derive(Clone, Debug, PartialEq)]
pub struct DownWeighted {
    /// Its trial.
    pub trial: Name,
    /// The state.
    pub state: State,
    /// The edge.
    pub edge: Edge,
    /// The place measured.
    pub place: Place,
    /// The reading in mm.
    pub value_mm: f64,
    /// Its weight, above zero and below one.
    pub weight: f64,
}

/// Everything the model needs of a book.
#[derive(Clone, Debug)]
pub struct Observations {
    /// Every paper of the book.
    pub papers: Vec<PaperLevel>,
    /// Every thread of the book.
    pub threads: Vec<ThreadLevel>,
    /// The hands that sewed; a trial without one belongs to a hand of its own name, the empty one.
    pub hands: Vec<String>,
    /// Every trial of the book.
    pub trials: Vec<Sewn>,
    /// Observations in order of trial and state.
    pub rows: Vec<Observation>,
    /// How well a reading repeats.
    pub repeatability: Repeatability,
    /// Fore-edge thickness over nominal, for each trial measured at the fore-edge.
    pub ratios: Vec<TrialRatio>,
    /// Readings out of line, in order of trial, state and edge.
    pub down_weighted: Vec<DownWeighted>,
    /// The gauge's resolution in mm.
    pub resolution_mm: f64,
    /// How the readings count.
    pub weighing: Weighing,
}

impl Observations {
    /// The observation table: one row for each trial and state with both edges measured.
    ///
    /// # Errors
    /// Where the table library refuses.
    pub fn frame(&self) -> PolarsResult<DataFrame> {
        table::frame(&self.rows, &self.trials)
    }

    /// Mean and standard deviation in mm of a thickness measured with `readings` in mm; `None`
    /// without readings.
    pub fn measured_edge(&self, readings: &[f64]) -> Option<(f64, f64)> {
        if readings.is_empty() {
            return None;
        }
        let count = readings.len() as f64;
        let variance = self.repeatability.edge_variance(count, self.resolution_mm);
        Some((readings.iter().sum::<f64>() / count, variance.sqrt()))
    }

    /// Noise variance in mm² that this book's repeatability gives an observation, which may be one
    /// of another book.
    pub fn noise_variance(&self, of: &Observation) -> f64 {
        let (spines, fore_edges) = (of.spine_readings, of.fore_edge_readings);
        self.repeatability.swell_variance(spines, fore_edges, self.resolution_mm)
    }

    /// Trials with at least one observation, as places in [`Observations::trials`].
    pub fn observed_trials(&self) -> Vec<usize> {
        let mut trials: Vec<usize> = self.rows.iter().map(|row| row.trial).collect();
        trials.dedup();
        trials
    }
}

/// Makes the observations of a book.
///
/// # Errors
/// [`ObserveError`] when a trial names what the book does not have.
pub fn observe(book: &Book) -> Result<Observations, ObserveError> {
    observe_entries(book.entries(), book.config().resolution, Weighing::Judged)
}

/// Makes the observations of a book as if some of its trials had been struck: their readings
/// count nowhere, not for the repeatability either.
///
/// # Errors
/// As [`observe`].
pub fn observe_without(
    book: &Book,
    left_out: &BTreeSet<&Name>,
    weighing: Weighing,
) -> Result<Observations, ObserveError> {
    let mut entries = book.entries().clone();
    entries.trials.retain(|trial| !left_out.contains(&trial.name));
    entries.readings.retain(|reading| !left_out.contains(&reading.trial));
    observe_entries(&entries, book.config().resolution, weighing)
}

/// Makes the observations of entries that need not be in a book on disk, measured with a gauge of
/// this resolution. What is struck is for the caller to leave out.
///
/// # Errors
/// As [`observe`].
pub fn observe_entries(
    entries: &Entries,
    resolution: Millimetres,
    weighing: Weighing,
) -> Result<Observations, ObserveError> {
    let stock = stock::Stock::of(entries)?;
    let resolution_mm = resolution.mm();
    let sets = table::sets(&entries.readings, &stock, resolution_mm, weighing);
    let repeatability = Repeatability::pooled(&sets);
    let rows = table::observations(&sets, &stock, repeatability, resolution_mm);
    let ratios = ratios::of_trials(&sets, &stock.trials);
    Ok(Observations {
        papers: stock.papers,
        threads: stock.threads,
        hands: stock.hands,
        trials: stock.trials,
        rows,
        repeatability,
        ratios,
        down_weighted: sets.into_down_weighted(),
        resolution_mm,
        weighing,
    })
}
