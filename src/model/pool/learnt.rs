//! What the readings of one bench say of the coefficients and the spreads, without its beliefs.

use super::eigen::{Eigen, mirrored};
use crate::model::mixed::Functional;
use crate::model::swell::beliefs::{Beliefs, COEFFICIENTS, Coefficient, Square, SwellSpread};
use crate::model::swell::error::ModelError;
use crate::model::swell::fit::SwellFit;

/// The spreads at which the log likelihood of each is tabled.
pub const SPREADS_TABLED: [f64; 17] = [
    0.0, 0.005, 0.01, 0.015, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.12, 0.16, 0.20, 0.25,
    0.32, 0.40,
];

/// Information under this share of that of the beliefs is rounding: variances of a fit have twelve
/// digits and more.
const NOTHING: f64 = 1e-9;
/// Log likelihoods of one spread that differ by less than this are equal.
const FLAT: f64 = 1e-9;

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
    /// spreads, `I = C⁻¹ − B₀⁻¹` and `w = C⁻¹m − B₀⁻¹m₀`; a direction in which C is wider than B₀
    /// counts as nothing. Source: docs/model.md, "What a bench's readings say".
    ///
    /// # Errors
    /// [`ModelError::Belief`] for beliefs whose correlations are not positive definite.
    pub fn of(fit: &SwellFit, beliefs: &Beliefs) -> Result<Self, ModelError> {
        if fit.posterior.rows() == 0 {
            return Ok(Self::NOTHING);
        }
        let (information, weighted) = Units::of(beliefs)?.without_beliefs(fit);
        let spreads = SwellSpread::ALL.map(|spread| of_spread(fit, spread));
        Ok(Self { information, weighted, spreads })
    }
}

fn of_spread(fit: &SwellFit, spread: SwellSpread) -> [f64; SPREADS_TABLED.len()] {
    let Some(id) = fit.parts.spread(spread) else { return [0.0; SPREADS_TABLED.len()] };
    let logs = fit.posterior.spread_log_likelihood(id, &SPREADS_TABLED);
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let bottom = logs.iter().copied().fold(f64::INFINITY, f64::min);
    if top - bottom < FLAT {
        return [0.0; SPREADS_TABLED.len()];
    }
    std::array::from_fn(|at| (logs[at] - top).max(LEAST))
}

/// A log likelihood so low that no lower one says more.
const LEAST: f64 = -1e6;

/// The coefficients in units in which the beliefs about them are standard normal:
/// `c = m₀ + s·K·z`, s the standard deviations and K·Kᵀ the correlations.
struct Units {
    means: [f64; COEFFICIENTS],
    sds: [f64; COEFFICIENTS],
    root: Square,
}

impl Units {
    fn of(beliefs: &Beliefs) -> Result<Self, ModelError> {
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

    /// I and w of a fit.
    fn without_beliefs(&self, fit: &SwellFit) -> (Square, [f64; COEFFICIENTS]) {
        let one = |name| Functional::default().plus(fit.parts.coefficient(name), 1.0);
        let joint = fit.posterior.joint(&Coefficient::ALL.map(one));
        let mean = self.standard(&std::array::from_fn(|at| joint.mean[at] - self.means[at]));
        let half: Square = std::array::from_fn(|at| {
            self.standard(&std::array::from_fn(|to| joint.covariance[at][to]))
        });
        // Column by column what was done row by row.
        let covariance: Square =
            std::array::from_fn(|at| self.standard(&std::array::from_fn(|to| half[to][at])));
        let eigen = Eigen::of(&mirrored(covariance));
        let says = |variance: f64| {
            let more = variance.recip() - 1.0;
            if more > NOTHING { more } else { 0.0 }
        };
        let information = eigen.with_values(says);
        let told =
            eigen.with_values(|variance| if says(variance) > 0.0 { variance.recip() } else { 0.0 });
        let weighted: [f64; COEFFICIENTS] = std::array::from_fn(|at| product(&told[at], &mean));
        self.in_their_own(&information, &weighted)
    }

    /// `K⁻¹·s⁻¹·x`.
    fn standard(&self, x: &[f64; COEFFICIENTS]) -> [f64; COEFFICIENTS] {
        let mut z = [0.0; COEFFICIENTS];
        for at in 0..COEFFICIENTS {
            let known = product(&self.root[at], &z);
            z[at] = (x[at] / self.sds[at] - known) / self.root[at][at];
        }
        z
    }

    /// `s⁻¹·K⁻ᵀ·x`.
    fn turned_back(&self, x: &[f64; COEFFICIENTS]) -> [f64; COEFFICIENTS] {
        let mut z = [0.0; COEFFICIENTS];
        for at in (0..COEFFICIENTS).rev() {
            let known: f64 = (at + 1..COEFFICIENTS).map(|to| self.root[to][at] * z[to]).sum();
            z[at] = (x[at] - known) / self.root[at][at];
        }
        std::array::from_fn(|at| z[at] / self.sds[at])
    }

    /// I and w of the coefficients themselves, from those of z.
    fn in_their_own(
        &self,
        information: &Square,
        weighted: &[f64; COEFFICIENTS],
    ) -> (Square, [f64; COEFFICIENTS]) {
        let half: Square = std::array::from_fn(|at| self.turned_back(&information[at]));
        let whole: Square =
            std::array::from_fn(|at| self.turned_back(&std::array::from_fn(|to| half[to][at])));
        let whole = mirrored(whole);
        let own = self.turned_back(weighted);
        (whole, std::array::from_fn(|at| own[at] + product(&whole[at], &self.means)))
    }
}

fn product(a: &[f64; COEFFICIENTS], b: &[f64; COEFFICIENTS]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Lower L with `L·Lᵀ` the matrix; `None` where it is not positive definite.
fn cholesky(matrix: &Square) -> Option<Square> {
    let mut root = [[0.0; COEFFICIENTS]; COEFFICIENTS];
    for at in 0..COEFFICIENTS {
        for to in 0..=at {
            let left = matrix[at][to] - product(&root[at], &root[to]);
            root[at][to] = if at > to { left / root[to][to] } else { left.sqrt() };
        }
        // Also what is not a number.
        if !(root[at][at] > 0.0) {
            return None;
        }
    }
    Some(root)
}
