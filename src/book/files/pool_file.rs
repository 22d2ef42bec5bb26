//! Beliefs that many benches learnt, as a file and as the part of `book.toml` that keeps them.

use std::collections::BTreeMap;

/// The format this program writes and reads.
pub(super) const FORMAT: i64 = 1;

/// What is believed of a coefficient.
#[derive(Clone, Debug, PartialEq)]
pub struct PooledBelief {
    pub mean: f64,
    /// Its standard deviation for a new bench.
    pub sd: f64,
    /// The part of that deviation that is from bench to bench.
    pub between: f64,
    /// Its correlation with every other coefficient, by name; one that is left out is zero.
    pub correlations: BTreeMap<String, f64>,
}

/// Beliefs that many benches learnt. The model knows the names.
#[derive(Clone, Debug, PartialEq)]
pub struct PoolFile {
    /// How many benches were pooled.
    pub benches: u64,
    /// How many trials they had together.
    pub trials: u64,
    /// The day the pool was made, as `YYYY-MM-DD`.
    pub made: String,
    /// By name of the coefficient.
    pub beliefs: BTreeMap<String, PooledBelief>,
    /// Half-normal scale by name of the spread.
    pub spreads: BTreeMap<String, f64>,
}

/// The beliefs that a book was given, and from where.
#[derive(Clone, Debug, PartialEq)]
pub struct ChosenPool {
    /// The file, as it was named then.
    pub file: String,
    /// The SHA-256 digest of its bytes, in hexadecimal digits.
    pub sha256: String,
    /// The day it was chosen, as `YYYY-MM-DD`.
    pub chosen: String,
    /// What it said.
    pub pool: PoolFile,
}
