//! Where the beliefs before the first trial come from.

use crate::book::{ChosenPool, Config};
use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Origin {
    /// The file, as named when the pool was chosen.
    pub file: String,
    /// SHA-256 digest of the file's bytes at that time, in hexadecimal.
    pub sha256: String,
    pub benches: u64,
    pub trials: u64,
    pub made: String,
    pub chosen: String,
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Grounds {
    /// The chosen pool; `None` for common practice.
    pub pool: Option<Origin>,
    /// Names of the beliefs and spreads that `book.toml` sets by hand.
    pub by_hand: Vec<String>,
}

impl Origin {
    pub fn of(chosen: &ChosenPool) -> Self {
        let ChosenPool { file, sha256, chosen, pool } = chosen.clone();
        Self { file, sha256, benches: pool.benches, trials: pool.trials, made: pool.made, chosen }
    }
}

impl Grounds {
    pub fn of(config: &Config) -> Self {
        let by_hand = config.beliefs.keys().chain(config.spreads.keys()).cloned().collect();
        Self { pool: config.pool.as_ref().map(Origin::of), by_hand }
    }
}
