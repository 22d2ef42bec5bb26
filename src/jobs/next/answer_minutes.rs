//! The bench time that a trial block costs.

use crate::model::TrialBlock;
use serde::Serialize;
use thiserror::Error;

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Minutes {
    setup: f64,
    section: f64,
    state: f64,
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum MinutesError {
    #[error("{what}={value} is not possible; expected 0 to {} minutes", Minutes::MOST)]
    Outside { what: &'static str, value: f64 },
    /// Setup and section are both 0, so every block would be worth sewing.
    #[error(
        "a block that takes no time cannot be compared with another; give minutes for setup or \
         section"
    )]
    Nothing,
}

impl Default for Minutes {
    /// In minutes. Common practice, no source.
    fn default() -> Self {
        Self { setup: 20.0, section: 3.0, state: 5.0 }
    }
}

impl Minutes {
    /// The names of the three times, as typed.
    pub const NAMES: [&'static str; 3] = ["setup", "section", "state"];
    /// The upper limit of each time; more is not work at a bench.
    pub const MOST: f64 = 10_000.0;

    /// Minutes to set up a block, to fold and sew each section, and to bring the block into each
    /// state and measure it.
    pub fn new([setup, section, state]: [f64; 3]) -> Result<Self, MinutesError> {
        for (what, value) in Self::NAMES.into_iter().zip([setup, section, state]) {
            if !(0.0..=Self::MOST).contains(&value) {
                return Err(MinutesError::Outside { what, value });
            }
        }
        if setup + section <= 0.0 {
            return Err(MinutesError::Nothing);
        }
        Ok(Self { setup, section, state })
    }

    /// The three times in the order of [`Minutes::NAMES`].
    pub fn each(self) -> [f64; 3] {
        [self.setup, self.section, self.state]
    }

    pub fn of(self, block: &TrialBlock) -> f64 {
        let sections = f64::from(block.run.sewing.sections());
        self.setup + sections * self.section + block.states.len() as f64 * self.state
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_that_cannot_be_are_refused() {
        assert_eq!(Minutes::new(Minutes::default().each()), Ok(Minutes::default()));
        assert_eq!(Minutes::new([0.0, 0.0, 5.0]), Err(MinutesError::Nothing));
        for bad in [-1.0, f64::NAN, f64::INFINITY] {
            let error = Minutes::new([20.0, bad, 5.0]).unwrap_err().to_string();
            assert!(error.starts_with("section="), "{error}");
        }
    }
}
