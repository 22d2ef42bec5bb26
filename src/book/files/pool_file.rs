//! Beliefs pooled from many benches, as a file and as a table of `book.toml`.

use std::collections::BTreeMap;

/// The format that this program writes and reads.
pub(super) const FORMAT: i64 = 1;

/// The belief about a coefficient.
#[derive(Clone, Debug, PartialEq)]
pub struct PooledBelief {
    pub mean: f64,
    /// Its standard deviation for a new bench.
    pub sd: f64,
    /// The part of that deviation that is between benches.
    pub between: f64,
    /// Its correlation with every other coefficient, by name. One that is left out is zero.
    pub correlations: BTreeMap<String, f64>,
}

/// Beliefs pooled from many benches. The model knows the names.
#[derive(Clone, Debug, PartialEq)]
pub struct PoolFile {
    pub benches: u64,
    pub trials: u64,
    /// The day the pool was made, as `YYYY-MM-DD`.
    pub made: String,
    /// By name of the coefficient.
    pub beliefs: BTreeMap<String, PooledBelief>,
    /// Half-normal scale by name of the spread.
    pub spreads: BTreeMap<String, f64>,
}

/// The pool that a book uses, and where it came from.
#[derive(Clone, Debug, PartialEq)]
pub struct ChosenPool {
    /// The path of the file as it was given.
    pub file: String,
    /// The SHA-256 digest of its bytes, in hexadecimal digits.
    pub sha256: String,
    /// The day it was chosen, as `YYYY-MM-DD`.
    pub chosen: String,
    pub pool: PoolFile,
}
