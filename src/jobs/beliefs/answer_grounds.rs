//! On what the figures before the first trial rest.

use crate::book::{ChosenPool, Config};
use serde::Serialize;

/// Where a pool of beliefs came from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Origin {
    /// The file, as it was named when it was chosen.
    pub file: String,
    /// The SHA-256 digest of its bytes then, in hexadecimal digits.
    pub sha256: String,
    /// Benches that were pooled.
    pub benches: u64,
    /// Their trials.
    pub trials: u64,
    /// The day the pool was made.
    pub made: String,
    /// The day it was chosen.
    pub chosen: String,
}

/// On what the figures before the first trial rest.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Grounds {
    /// The pool that was chosen; without one it is common practice.
    pub pool: Option<Origin>,
    /// What `book.toml` sets by hand, by name.
    pub by_hand: Vec<String>,
}

impl Origin {
    /// That of a pool.
    pub fn of(chosen: &ChosenPool) -> Self {
        let ChosenPool { file, sha256, chosen, pool } = chosen.clone();
        Self { file, sha256, benches: pool.benches, trials: pool.trials, made: pool.made, chosen }
    }
}

impl Grounds {
    /// Those of a book.
    pub fn of(config: &Config) -> Self {
        let by_hand = config.beliefs.keys().chain(config.spreads.keys()).cloned().collect();
        Self { pool: config.pool.as_ref().map(Origin::of), by_hand }
    }
}
