//! What the readings of one bench say of the coefficients and the spreads, without its beliefs.

use super::site::{Site, Tilted};
use super::symmetric::{Column, backward, both_sides, cholesky, forward, times};
use crate::model::mixed::{Functional, Joint};
use crate::model::swell::beliefs::{Beliefs, COEFFICIENTS, Coefficient, Square, SwellSpread};
use crate::model::swell::error::ModelError;
use crate::model::swell::fit::SwellFit;

/// The spreads at which the log likelihood of each is tabled.
pub const SPREADS_TABLED: [f64; 17] = [
    0.0, 0.005, 0.01, 0.015, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.12, 0.16, 0.20, 0.25,
    0.32, 0.40,
];

/// Log likelihoods of one spread that differ by less than this are equal: rounding.
const FLAT: f64 = 1e-9;
/// The least log likelihood that is tabled; a lower one says no more.
pub(in crate::model) const LEAST: f64 = -1e6;

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

impl Learnt {
    /// Nothing: what a bench without readings says.
    pub const NOTHING: Self = Self {
        information: [[0.0; COEFFICIENTS]; COEFFICIENTS],
        weighted: [0.0; COEFFICIENTS],
        spreads: [[0.0; SPREADS_TABLED.len()]; SwellSpread::ALL.len()],
    };

    /// What the readings of a fit say, which was made under `beliefs`.
    ///
    /// With the beliefs N(m₀, B₀) and the fit's mean m and covariance C over all draws of the
    /// spreads, `I = C⁻¹ − B₀⁻¹` and `w = C⁻¹m − B₀⁻¹m₀`. Source: docs/model.md, "What a bench's
    /// readings say".
    ///
    /// # Errors
    /// [`ModelError::Belief`] for beliefs whose correlations are not positive definite.
    pub fn of(fit: &SwellFit, beliefs: &Beliefs) -> Result<Self, ModelError> {
        if fit.posterior.rows() == 0 {
            return Ok(Self::NOTHING);
        }
        let units = Units::of(beliefs)?;
        let one = |name| Functional::default().plus(fit.parts.coefficient(name), 1.0);
        let draws = fit.posterior.together(&Coefficient::ALL.map(one));
        let site = Tilted::new(draws.iter().map(|draw| units.standard(draw)).collect()).site();
        let (information, weighted) = units.of_site(&site);
        let spreads = SwellSpread::ALL.map(|spread| of_spread(fit, spread));
        Ok(Self { information, weighted, spreads })
    }
}

fn of_spread(fit: &SwellFit, spread: SwellSpread) -> [f64; SPREADS_TABLED.len()] {
    let none = [0.0; SPREADS_TABLED.len()];
    let Some(id) = fit.parts.spread(spread) else { return none };
    let logs = fit.posterior.spread_log_likelihood(id, &SPREADS_TABLED);
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let bottom = logs.iter().copied().fold(f64::INFINITY, f64::min);
    if top - bottom < FLAT {
        return none;
    }
    std::array::from_fn(|at| (logs[at] - top).max(LEAST))
}

/// The coefficients in units in which the beliefs about them are standard normal:
/// `c = m₀ + s·K·z`, s the standard deviations and K·Kᵀ the correlations.
pub(super) struct Units {
    means: Column,
    sds: Column,
    root: Square,
}

impl Units {
    /// # Errors
    /// [`ModelError::Belief`] for correlations that are not positive definite.
    pub fn of(beliefs: &Beliefs) -> Result<Self, ModelError> {
        let correlations = Coefficient::ALL
            .map(|one| Coefficient::ALL.map(|other| beliefs.correlation(one, other)));
        let root = cholesky(&correlations).ok_or_else(|| ModelError::Belief {
            message: "the correlations of the beliefs are not positive definite".to_owned(),
        })?;
        Ok(Self {
            means: Coefficient::ALL.map(|name| beliefs.coefficient(name).mean),
            sds: Coefficient::ALL.map(|name| beliefs.coefficient(name).sd),
            root,
        })
    }

    /// A draw in these units.
    fn standard(&self, draw: &Joint<COEFFICIENTS>) -> Joint<COEFFICIENTS> {
        let scaled =
            |x: &Column| forward(&self.root, &std::array::from_fn(|at| x[at] / self.sds[at]));
        Joint {
            weight: draw.weight,
            mean: scaled(&std::array::from_fn(|at| draw.mean[at] - self.means[at])),
            covariance: both_sides(&draw.covariance, scaled),
        }
    }

    /// I and w of the coefficients themselves.
    fn of_site(&self, site: &Site) -> (Square, Column) {
        let back = |x: &Column| {
            let z = backward(&self.root, x);
            std::array::from_fn(|at| z[at] / self.sds[at])
        };
        let information = both_sides(&site.information, back);
        let (own, at_means) = (back(&site.weighted), times(&information, &self.means));
        (information, std::array::from_fn(|at| own[at] + at_means[at]))
    }
}
