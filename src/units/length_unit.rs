//! Units of length, and how a length is shown in them.

use super::millimetres::Millimetres;
use std::fmt;

/// A unit in which a length is typed or shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LengthUnit {
    #[default]
    Millimetre,
    Micrometre,
    Inch,
    /// Thousandths of an inch.
    Thou,
}

impl LengthUnit {
    pub const ALL: [Self; 4] = [Self::Millimetre, Self::Micrometre, Self::Inch, Self::Thou];

    pub fn is_of_inches(self) -> bool {
        matches!(self, Self::Inch | Self::Thou)
    }

    /// The unit for the size of a book that goes with this unit.
    pub fn of_sizes(self) -> Self {
        if self.is_of_inches() { Self::Inch } else { Self::Millimetre }
    }

    /// The unit for a length of thread that goes with this unit: its symbol, its name, and how many
    /// mm it is. A yard is 36 in.
    pub fn of_thread(self) -> (&'static str, &'static str, f64) {
        match self.is_of_inches() {
            true => ("yd", "yards", Self::Inch.to_mm(36.0)),
            false => ("m", "metres", 1000.0),
        }
    }

    /// Its name in a sentence.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Millimetre => "millimetres",
            Self::Micrometre => "micrometres",
            Self::Inch => "inches",
            Self::Thou => "thousandths of an inch",
        }
    }

    /// Converts `value` in this unit to millimetres. An inch is 25.4 mm exactly (international yard
    /// and pound agreement, 1959).
    pub fn to_mm(self, value: f64) -> f64 {
        match self {
            Self::Millimetre => value,
            Self::Micrometre => value / 1000.0,
            Self::Inch => value * 25.4,
            Self::Thou => value * 0.0254,
        }
    }

    /// A length of `mm` in this unit, as messages show it: `0.4843 in`. It has as many decimals as
    /// a gauge shows, or three digits if it is smaller, and no trailing zeros.
    pub fn shown(self, mm: f64) -> String {
        format!("{} {self}", self.figures(mm))
    }

    /// A typed length of `mm`: as [`Self::shown`]. If it was typed in millimetres, also in these,
    /// because the file contains them: `0.4 mm (0.0157 in)`.
    pub fn found(self, mm: f64) -> String {
        match self {
            Self::Millimetre => self.shown(mm),
            _ if Self::Millimetre.suits_better(mm, self) => {
                format!("{} ({})", Self::Millimetre.shown(mm), self.shown(mm))
            }
            _ => self.shown(mm),
        }
    }

    /// Whether a length of `mm` has fewer decimals in this unit than in `other`, and so was typed
    /// in this one.
    pub(crate) fn suits_better(self, mm: f64, other: Self) -> bool {
        const NONE: i32 = 6;
        let decimals = |unit: Self| {
            let value = mm / unit.to_mm(1.0);
            let is_whole = |count: &i32| {
                let scaled = value * 10f64.powi(*count);
                (scaled - scaled.round()).abs() < 1e-6
            };
            (0..NONE).find(is_whole).unwrap_or(NONE)
        };
        decimals(self) < decimals(other)
    }

    /// As [`Self::shown`], without the unit.
    pub fn figures(self, mm: f64) -> String {
        const MOST: f64 = 7.0;
        let value = mm / self.to_mm(1.0);
        let of_gauge = match self {
            Self::Millimetre => 3.0,
            Self::Micrometre => 0.0,
            Self::Inch => 4.0,
            Self::Thou => 1.0,
        };
        let of_size = (2.0 - value.abs().log10().floor()).min(MOST);
        let decimals = if value == 0.0 || !of_size.is_finite() { 0.0 } else { of_size };
        // Only a length below ten steps of a gauge needs more digits than the gauge shows.
        let decimals = if value.abs() < 10f64.powf(1.0 - of_gauge) { decimals } else { of_gauge };
        let text = format!("{value:.*}", decimals.max(of_gauge) as usize);
        let text = if text.contains('.') { text.trim_end_matches('0') } else { &text };
        match text.trim_end_matches('.') {
            "-0" => "0".to_owned(),
            text => text.to_owned(),
        }
    }

    /// Converts a typed or measured `value` to millimetres. Decimals past a millionth of a
    /// micrometre come from the multiplication, and are rounded off.
    pub(super) fn said(self, value: f64) -> f64 {
        const DECIMALS: f64 = 1e9;
        let mm = self.to_mm(value);
        let rounded = (mm * DECIMALS).round() / DECIMALS;
        let keeps = self != Self::Millimetre && mm.abs() < 1e6;
        if keeps { rounded } else { mm }
    }

    pub fn count(self, length: Millimetres) -> f64 {
        length.mm() / self.to_mm(1.0)
    }

    /// The value of a length of `mm` in this unit; not a number unless it is finite.
    pub fn count_mm(self, mm: f64) -> f64 {
        Millimetres::new(mm).map_or(f64::NAN, |length| self.count(length))
    }

    /// The short name: `mm`, `um`, `in` or `thou`.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Micrometre => "um",
            Self::Inch => "in",
            Self::Thou => "thou",
        }
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_is_shown_with_the_digits_of_a_gauge() {
        let inches = |mm| LengthUnit::Inch.shown(mm);
        assert_eq!(
            (inches(12.3), inches(2.54), inches(0.01)),
            ("0.4843 in".into(), "0.1 in".into(), "0.000394 in".into())
        );
        let mm = |mm| LengthUnit::Millimetre.shown(mm);
        assert_eq!(
            (mm(10109.199999999999), mm(0.004), mm(105.0)),
            ("10109.2 mm".into(), "0.004 mm".into(), "105 mm".into())
        );
        assert_eq!(
            (mm(0.0), mm(-0.0), mm(f64::NAN)),
            ("0 mm".into(), "0 mm".into(), "NaN mm".into())
        );
        assert!(LengthUnit::Inch.to_mm(f64::NAN).is_nan());
        assert_eq!(LengthUnit::Thou.shown(0.254), "10 thou");
        assert_eq!(LengthUnit::Micrometre.shown(0.254), "254 um");
    }

    /// By hand: 0.4 mm / 25.4 = 0.01575 in.
    #[test]
    fn a_length_found_in_millimetres_is_said_in_both() {
        assert_eq!(LengthUnit::Inch.found(0.4), "0.4 mm (0.0157 in)");
        assert_eq!(LengthUnit::Inch.found(10.16), "0.4 in");
        assert_eq!(LengthUnit::Millimetre.found(10.16), "10.16 mm");
    }
}
