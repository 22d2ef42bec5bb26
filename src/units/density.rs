use serde::Serialize;
use std::fmt;

/// Grams in an avoirdupois pound, exactly (international yard and pound agreement, 1959).
pub const GRAMS_PER_POUND: f64 = 453.592_37;
/// Spellings of grams per square metre after a number, the longest first.
pub const GRAMMAGE_UNITS: [&str; 8] =
    ["grams", "g/m\u{b2}", "g/sqm", "g/qm", "g/m2", "gsm", "gr", "g"];

/// Grammage of a paper in grams per square metre: finite and above zero.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Grammage(f64);

impl Grammage {
    /// In g/m²; `None` unless finite and above zero.
    pub fn new(value: f64) -> Option<Self> {
        (value.is_finite() && value > 0.0).then_some(Self(value))
    }

    pub fn gsm(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Grammage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g/m\u{b2}", self.0)
    }
}

/// Linear density of a thread in tex (grams per kilometre): finite and above zero.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Tex(f64);

impl Tex {
    /// `None` unless finite and above zero.
    pub fn new(value: f64) -> Option<Self> {
        (value.is_finite() && value > 0.0).then_some(Self(value))
    }

    pub fn tex(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Tex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} tex", self.0)
    }
}
