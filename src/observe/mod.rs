//! Readings become observations: set means, pooled repeatability, joins.
//!
//! All are plain values; `export` makes tables from them.

mod joined;
mod observations;
mod plain;
mod ratios;
mod repeatability;
mod repeats;
mod sets;
mod slips;
mod stock;

pub use joined::{Joined, Part};
pub use observations::{Observations, observe, observe_entries, observe_without};
pub use plain::{DownWeighted, Observation, ObserveError, PaperLevel, Sewn, ThreadLevel, Weighing};
pub use ratios::TrialRatio;
pub use repeatability::{PRIOR_SD_MM, Repeatability};
pub use repeats::{Repeat, Repeats};
