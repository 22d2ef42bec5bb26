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

impl Millimetres {
    /// `None` unless `value` is finite.
    pub fn new(value: f64) -> Option<Self> {
        // Only `ABSENT` itself would give zero.
        let bits = NonZeroU64::new(value.to_bits() ^ ABSENT.to_bits());
        bits.filter(|_| value.is_finite()).map(Self)
    }

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
    }
}
