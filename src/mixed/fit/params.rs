//! Parameters of a fit.

use super::trust::Trust;
use crate::MixedError;
use linfa::ParamGuard;

/// Unchecked parameters of a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct MixedParams(MixedValidParams);

/// Checked parameters of a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct MixedValidParams {
    draws: Option<usize>,
    minimum_effective: f64,
}

/// The number of draws made first, besides the steering draws.
const FIRST_DRAWS: usize = 128;

impl Default for MixedParams {
    fn default() -> Self {
        Self(MixedValidParams { draws: None, minimum_effective: 100.0 })
    }
}

impl MixedParams {
    /// The parameters of the swell model: 192 draws, more if they do not settle, and an error below
    /// 100 effective draws.
    pub fn new() -> Self {
        Self::default()
    }

    /// The number of draws over the spreads: a power of two from 16 to 131,072.
    #[must_use]
    pub fn draws(mut self, draws: usize) -> Self {
        self.0.draws = Some(draws);
        self
    }

    /// The least effective number of draws. Below it the fit is an error.
    #[must_use]
    pub fn minimum_effective(mut self, minimum: f64) -> Self {
        self.0.minimum_effective = minimum;
        self
    }
}

impl MixedValidParams {
    /// Limit on draws that are not yet trusted, as a multiple of the usual number.
    const TIMES_MORE: usize = 250;
    /// Limits on the largest weight and on the tail. Beyond them more draws are made, and in the
    /// end the fit is refused.
    const LARGEST: f64 = 0.05;
    const RELIABLE: f64 = 0.7;
    /// From this effective number of draws on, the tail alone asks for nothing.
    const PLENTY: f64 = 1_000.0;

    /// The number of draws in the first round.
    pub(crate) fn first_draws(&self) -> usize {
        self.draws.unwrap_or(FIRST_DRAWS)
    }

    /// Whether the steering draws count too. They do not if the number of draws is given, which is
    /// then met exactly.
    pub(crate) fn keeps_steering(&self) -> bool {
        self.draws.is_none()
    }

    /// The number of draws from which on no more are made.
    pub(crate) fn most_draws(&self) -> usize {
        self.draws.unwrap_or(FIRST_DRAWS * Self::TIMES_MORE)
    }

    /// Whether ranges can rely on draws with these weights.
    pub(crate) fn trusts(&self, trust: &Trust) -> bool {
        trust.effective >= self.minimum_effective
            && trust.largest <= Self::LARGEST
            && (trust.pareto_k <= Self::RELIABLE || trust.effective >= Self::PLENTY)
    }

    /// # Errors
    /// [`MixedError::FewDraws`] for draws that no range can rely on.
    pub(crate) fn check_trust(&self, trust: &Trust, draws: usize) -> Result<(), MixedError> {
        let Trust { effective, largest, pareto_k } = *trust;
        let wanted = self.minimum_effective;
        let refused = MixedError::FewDraws { effective, draws, wanted, largest, pareto_k };
        if self.trusts(trust) { Ok(()) } else { Err(refused) }
    }
}

impl ParamGuard for MixedParams {
    type Checked = MixedValidParams;
    type Error = MixedError;

    fn check_ref(&self) -> Result<&MixedValidParams, MixedError> {
        let MixedValidParams { draws, minimum_effective, .. } = self.0;
        if let Some(count) = draws
            && !(count.is_power_of_two() && (16..=131_072).contains(&count))
        {
            return Err(MixedError::Parameter {
                name: "draws",
                value: count as f64,
                allowed: "a power of two from 16 to 131072",
            });
        }
        if !(minimum_effective.is_finite() && minimum_effective >= 1.0) {
            return Err(MixedError::Parameter {
                name: "minimum_effective",
                value: minimum_effective,
                allowed: "1 or more",
            });
        }
        Ok(&self.0)
    }

    fn check(self) -> Result<MixedValidParams, MixedError> {
        self.check_ref()?;
        Ok(self.0)
    }
}
