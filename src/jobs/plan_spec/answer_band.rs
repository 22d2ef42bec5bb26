//! The wanted swell, from a target of the book or from two typed bounds.

use crate::trade::{SpineGeometry, Target, TargetError};
use serde::Serialize;

/// A wanted swell in per cent.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Band {
    /// The target's name, or the bounds as typed.
    pub name: String,
    pub low_percent: f64,
    pub high_percent: f64,
}

impl From<&Target> for Band {
    fn from(target: &Target) -> Self {
        Self {
            name: target.name.to_string(),
            low_percent: target.low_percent(),
            high_percent: target.high_percent(),
        }
    }
}

impl Band {
    /// Room on either side of the swell that a spine's geometry needs, in percentage points. Within
    /// it the spine can still be rounded that way (common practice, no source).
    pub const ROOM: f64 = 5.0;

    /// A band around the swell that the geometry needs on a block with this fore-edge in mm.
    pub fn around(geometry: SpineGeometry, fore_edge_mm: f64) -> Self {
        let middle = geometry.swell_percent(fore_edge_mm).round();
        let (low_percent, high_percent) = (middle - Self::ROOM, middle + Self::ROOM);
        Self { name: format!("{low_percent}..{high_percent}"), low_percent, high_percent }
    }

    pub fn bounds(&self) -> [f64; 2] {
        [self.low_percent, self.high_percent]
    }

    /// Bounds in per cent, checked like those of a target.
    pub fn new(low: f64, high: f64) -> Result<Self, TargetError> {
        Target::check(low, high)?;
        Ok(Self { name: format!("{low}..{high}"), low_percent: low, high_percent: high })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_are_checked_as_a_target_is() {
        assert_eq!(Band::new(25.0, 35.0).unwrap().name, "25..35");
        assert_eq!(Band::new(-2.0, 3.0).unwrap().name, "-2..3");
        assert!(Band::new(35.0, 25.0).is_err());
        assert!(Band::new(-2.0, f64::INFINITY).is_err());
    }
}
