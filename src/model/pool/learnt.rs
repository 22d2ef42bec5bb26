//! What the readings of one bench say of the coefficients and the spreads, without its beliefs.

use crate::model::swell::beliefs::{COEFFICIENTS, Square, SwellSpread};

/// The spreads at which the log likelihood of each is tabled.
pub const SPREADS_TABLED: [f64; 17] = [
    0.0, 0.005, 0.01, 0.015, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.12, 0.16, 0.20, 0.25,
    0.32, 0.40,
];

/// What the readings of one bench say, its own beliefs divided out.
///
/// As a function of the coefficients c the likelihood is near `exp(−½·cᵀIc + wᵀc)` up to a factor; I
/// may be singular, for not every bench has sewn soft paper or two-on.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    /// I, positive semidefinite, in the order of [`Coefficient::ALL`](crate::model::Coefficient::ALL).
    pub information: Square,
    /// w, which is I times the estimate where there is one.
    pub weighted: [f64; COEFFICIENTS],
    /// For each spread in the order of [`SwellSpread::ALL`], its log likelihood at
    /// [`SPREADS_TABLED`], less the greatest of them; all zero where the readings say nothing.
    pub spreads: [[f64; SPREADS_TABLED.len()]; SwellSpread::ALL.len()],
}
