//! The length type inside the program: millimetres, whatever unit was typed.

use serde::{Serialize, Serializer};
use std::fmt;
use std::num::NonZeroU64;

/// A length in millimetres, finite; may be negative (a difference of two lengths).
///
/// It stores the bits of the number XOR those of `ABSENT`, so that an `Option` of it is no larger:
/// a book may hold millions.
#[derive(Clone, Copy)]
pub struct Millimetres(NonZeroU64);

/// A value that no length has.
const ABSENT: f64 = f64::NAN;

/// A length in micrometres: 1 µm = 0.001 mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Micrometres(pub f64);

/// A length in inches: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inches(pub f64);

/// A length in thousandths of an inch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thou(pub f64);

impl Millimetres {
    /// A length in millimetres; `None` unless `value` is finite.
    pub fn new(value: f64) -> Option<Self> {
        value.is_finite().then(|| Self::of(value))
    }

    fn of(value: f64) -> Self {
        let bits = value.to_bits() ^ ABSENT.to_bits();
        // Only `ABSENT` itself gives zero; it becomes another NaN.
        Self(NonZeroU64::new(bits).unwrap_or(NonZeroU64::MIN))
    }

    /// The length as a plain number of millimetres.
    pub fn mm(self) -> f64 {
        f64::from_bits(self.0.get() ^ ABSENT.to_bits())
    }
}

impl PartialEq for Millimetres {
    fn eq(&self, other: &Self) -> bool {
        self.mm() == other.mm()
    }
}

impl PartialOrd for Millimetres {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        self.mm().partial_cmp(&other.mm())
    }
}

impl fmt::Debug for Millimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Millimetres").field(&self.mm()).finish()
    }
}

impl Serialize for Millimetres {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.mm())
    }
}

impl From<Micrometres> for Millimetres {
    fn from(length: Micrometres) -> Self {
        Self::of(length.0 / 1000.0)
    }
}

impl From<Inches> for Millimetres {
    fn from(length: Inches) -> Self {
        Self::of(length.0 * 25.4)
    }
}

impl From<Thou> for Millimetres {
    fn from(length: Thou) -> Self {
        Self::of(length.0 * 0.0254)
    }
}

impl fmt::Display for Millimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.mm())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_that_is_not_there_takes_no_room_and_lengths_compare_as_numbers() {
        assert_eq!(size_of::<Option<Millimetres>>(), size_of::<f64>());
        let length = |value| Millimetres::new(value).expect("finite");
        for value in [0.0, -0.0, 9.8, -1.5, f64::MAX, f64::MIN_POSITIVE] {
            assert_eq!(length(value).mm().to_bits(), value.to_bits());
        }
        assert_eq!(length(0.0), length(-0.0));
        assert!(length(-1.0) < length(0.5));
        assert_eq!(format!("{:?}", length(9.8)), "Millimetres(9.8)");
        assert_eq!(Millimetres::new(f64::NAN), None);
        assert!(Millimetres::from(Inches(f64::NAN)).mm().is_nan());
    }
}
