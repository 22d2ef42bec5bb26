//! The swell that the geometry of a rounded, or rounded and backed, spine requires.

use crate::trade::limits::{OutOfRange, Range};
use crate::units::Millimetres;

/// The arc of a rounded spine and the height of its shoulders.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpineGeometry {
    degrees: f64,
    shoulder_mm: f64,
}

impl SpineGeometry {
    /// The angle of the arc: from hardly round to half a circle.
    pub const ROUND: Range = Range { low: 1.0, high: 180.0, unit: "degrees" };
    /// The height of a shoulder: zero on a spine that is only rounded.
    pub const SHOULDER: Range = Range { low: 0.0, high: 12.0, unit: "mm" };

    /// An arc of `degrees` with shoulders of this height; `None` if the spine is not backed.
    pub fn new(degrees: f64, shoulder: Option<Millimetres>) -> Result<Self, OutOfRange> {
        let shoulder_mm = shoulder.map_or(0.0, Millimetres::mm);
        Ok(Self {
            degrees: Self::ROUND.check(degrees)?,
            shoulder_mm: Self::SHOULDER.check(shoulder_mm)?,
        })
    }

    pub fn degrees(self) -> f64 {
        self.degrees
    }

    pub fn shoulder_mm(self) -> f64 {
        self.shoulder_mm
    }

    /// The swell in mm that a block of `fore_edge_mm` requires. The sewn spine lies on the arc,
    /// whose chord is the block with a shoulder on either side: `W = (T + 2h)·α/(2·sin(α/2)) − T`.
    /// Source: docs/model.md, "Rounding geometry".
    pub fn swell_mm(self, fore_edge_mm: f64) -> f64 {
        let half = self.degrees.to_radians() / 2.0;
        let chord = fore_edge_mm + 2.0 * self.shoulder_mm;
        chord * half / half.sin() - fore_edge_mm
    }

    /// The same in per cent of the fore-edge.
    pub fn swell_percent(self, fore_edge_mm: f64) -> f64 {
        100.0 * self.swell_mm(fore_edge_mm) / fore_edge_mm
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn geometry(degrees: f64, shoulder: f64) -> SpineGeometry {
        SpineGeometry::new(degrees, Millimetres::new(shoulder)).unwrap()
    }

    /// Arc and chord of a circle of radius 1, as handbooks' tables of circular segments give them
    /// to four decimals (values from memory of such a table).
    #[test]
    fn the_spine_is_the_arc_over_its_chord() {
        let table = [
            (40.0, 0.6981, 0.6840),
            (75.0, 1.3090, 1.2175),
            (100.0, 1.7453, 1.5321),
            (150.0, 2.6180, 1.9319),
        ];
        for (degrees, arc, chord) in table {
            let swell = geometry(degrees, 0.0).swell_mm(20.0);
            assert!((swell - 20.0 * (arc / chord - 1.0)).abs() < 3e-3, "{degrees}: {swell}");
        }
    }

    /// By hand: (20 + 5)·1.110721 − 20 = 7.768 mm, 38.8 %.
    #[test]
    fn shoulders_widen_the_chord() {
        let backed = geometry(90.0, 2.5);
        assert!((backed.swell_mm(20.0) - 7.768).abs() < 5e-4);
        assert!((backed.swell_percent(20.0) - 38.84).abs() < 5e-3);
        // Without an arc the shoulders alone are the swell.
        assert!((geometry(1.0, 2.5).swell_mm(20.0) - 5.0).abs() < 1e-3);
    }

    #[test]
    fn a_spine_that_cannot_be_is_refused() {
        for (degrees, shoulder) in [(0.0, 2.0), (181.0, 2.0), (f64::NAN, 0.0), (90.0, 30.0)] {
            assert!(SpineGeometry::new(degrees, Millimetres::new(shoulder)).is_err());
        }
    }
}
