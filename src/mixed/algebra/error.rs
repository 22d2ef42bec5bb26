//! The errors of the engine.

use thiserror::Error;

/// Why a design cannot be fitted.
#[derive(Debug, Error)]
pub enum MixedError {
    /// A number that is not finite, or a spread, belief or variance below zero.
    #[error("{what} is {value}, which is not a {wanted}")]
    Number {
        /// What the number describes.
        what: String,
        value: f64,
        /// What was expected.
        wanted: &'static str,
    },
    /// A row names a coefficient, effect, level or spread that the design does not have.
    #[error("row {row} names {what} that the design does not have")]
    Unknown {
        /// The row, counted from 0.
        row: usize,
        what: &'static str,
    },
    /// Correlations before the data contradict each other.
    #[error(
        "the belief about coefficient {coefficient} contradicts its correlations with the others, \
         or they leave it no variance of its own"
    )]
    Correlations {
        /// The coefficient, counted from 0.
        coefficient: usize,
    },
    /// The numbers of rows and targets differ.
    #[error("{rows} rows but {targets} targets")]
    Count {
        /// Rows of the design.
        rows: usize,
        targets: usize,
    },
    /// A parameter of the fit is out of range.
    #[error("{name} is {value}; allowed is {allowed}")]
    Parameter {
        name: &'static str,
        value: f64,
        /// The allowed range.
        allowed: &'static str,
    },
    /// Too few draws carry weight for a range to be trusted.
    #[error(
        "the fit is refused: of {draws} draws over the spreads {effective:.0} are effective (at \
         least {wanted:.0} are needed), one carries {share:.1} % of the weight and the tail of \
         the weights has the shape {pareto_k:.2} (up to 0.70 can be relied on); the data fit the \
         beliefs badly: check the book with `swellbook audit`, or widen the beliefs",
        share = 100.0 * largest
    )]
    FewDraws {
        /// Effective number of draws.
        effective: f64,
        draws: usize,
        wanted: f64,
        /// Share of the total weight on the heaviest draw.
        largest: f64,
        /// Shape of the tail of the weights.
        pareto_k: f64,
    },
    /// The likelihood is not finite anywhere.
    #[error("no set of spreads explains the data: {0}")]
    NoMode(String),
    /// An error of the fitting library.
    #[error(transparent)]
    Library(#[from] linfa::Error),
}
