//! Readings become observations: set means, pooled repeatability, joins.
//!
//! What the model needs are plain values; a table for work elsewhere is made of them when asked for.

mod observations;
mod plain;
mod ratios;
mod repeatability;
mod repeats;
mod sets;
mod slips;
mod stock;
mod table;

pub use observations::{Observations, observe, observe_entries, observe_without};
pub use plain::{DownWeighted, Observation, ObserveError, PaperLevel, Sewn, ThreadLevel, Weighing};
pub use ratios::TrialRatio;
pub use repeatability::Repeatability;
pub use repeats::{Repeat, Repeats};
