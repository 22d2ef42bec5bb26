//! Repairs at the fold: strips of thin paper that thicken the spine.

use crate::trade::limits::{OutOfRange, ranges};
use crate::trade::pairs::{Pairs, PairsError};
use crate::units::{LengthUnit, Millimetres, parse_length, shown};
use std::fmt;
use thiserror::Error;

/// What repairs add to the spine of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Guards {
    /// Their build-up over the block, in mm, measured or computed.
    BuildUp(f64),
    /// Sheets of every section guarded with tissue of this thickness in mm.
    PerSection {
        /// Thickness of the tissue in mm.
        tissue_mm: f64,
        /// Guarded sheets in each section.
        sheets: u32,
    },
    /// Sheets in the whole block guarded with tissue of this thickness in mm.
    InAll {
        /// Thickness of the tissue in mm.
        tissue_mm: f64,
        /// Guarded sheets in the block.
        sheets: u32,
    },
}

/// Why a text does not describe repairs.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum GuardsError {
    /// An invalid list.
    #[error(transparent)]
    Pairs(#[from] PairsError),
    /// No thickness, or no number of sheets.
    #[error(
        "give tissue=LENGTH with per-section=N or sheets=N, such as 'tissue=0.02mm,per-section=2', or the build-up over the block as a length"
    )]
    Incomplete,
    /// An invalid length.
    #[error("{0}")]
    Length(String),
    /// An impossible number of sheets.
    #[error("'{found}' is not a whole number of sheets, 1 or more")]
    Sheets { found: String },
    /// More than any spine holds.
    #[error("the guards would add up to {0}")]
    Range(#[from] OutOfRange),
}

impl Guards {
    /// Parses a length, or `tissue=LENGTH` with `per-section=N` or `sheets=N`; plain numbers are in
    /// `unit`.
    ///
    /// # Errors
    /// [`GuardsError`].
    pub fn parse(text: &str, unit: LengthUnit) -> Result<Self, GuardsError> {
        let length = |text: &str| {
            let length = parse_length(text, unit);
            length.map(Millimetres::mm).map_err(|error| GuardsError::Length(error.to_string()))
        };
        if !text.contains('=') {
            return Ok(Self::BuildUp(ranges::GUARDS.check(length(text)?)?));
        }
        let pairs = Pairs::parse(text, &["tissue", "per-section", "sheets"])?;
        let tissue = pairs.get("tissue").ok_or(GuardsError::Incomplete)?;
        let tissue_mm = ranges::CALIPER
            .check(length(tissue)?)
            .map_err(|error| GuardsError::Length(format!("tissue: {error}")))?;
        match (pairs.get("per-section"), pairs.get("sheets")) {
            (Some(count), None) => Ok(Self::PerSection { tissue_mm, sheets: sheets(count)? }),
            (None, Some(count)) => Ok(Self::InAll { tissue_mm, sheets: sheets(count)? }),
            _ => Err(GuardsError::Incomplete),
        }
    }

    /// Their build-up over a block of this many sections, in mm. A strip round a fold adds its
    /// thickness twice. Source: docs/model.md, "From readings to observations".
    ///
    /// # Errors
    /// [`GuardsError::Range`] for more than any spine holds.
    pub fn build_up_mm(self, sections: u32) -> Result<f64, GuardsError> {
        let total = match self {
            Self::BuildUp(total) => total,
            Self::PerSection { tissue_mm, sheets } => {
                2.0 * tissue_mm * f64::from(sheets) * f64::from(sections)
            }
            Self::InAll { tissue_mm, sheets } => 2.0 * tissue_mm * f64::from(sheets),
        };
        Ok(ranges::GUARDS.check(total)?)
    }
}

/// In a form that [`Guards::parse`] reads in the same way whatever its unit.
impl fmt::Display for Guards {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BuildUp(mm) => write!(f, "{mm} mm"),
            Self::PerSection { tissue_mm, sheets } => {
                write!(f, "tissue={tissue_mm} mm,per-section={sheets}")
            }
            Self::InAll { tissue_mm, sheets } => write!(f, "tissue={tissue_mm} mm,sheets={sheets}"),
        }
    }
}

fn sheets(text: &str) -> Result<u32, GuardsError> {
    let count = text.trim().parse().ok().filter(|&count: &u32| count > 0);
    count.ok_or_else(|| GuardsError::Sheets { found: shown(text) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn built(text: &str) -> Result<f64, String> {
        let guards = Guards::parse(text, LengthUnit::Millimetre).map_err(|e| e.to_string())?;
        guards.build_up_mm(24).map_err(|error| error.to_string())
    }

    #[test]
    fn a_strip_round_a_fold_counts_twice() {
        // By hand: 2 × 0.02 × 2 × 24 = 1.92; 2 × 0.02 × 10 = 0.4.
        assert!((built("tissue=0.02mm,per-section=2").unwrap() - 1.92).abs() < 1e-12);
        assert!((built("tissue=20um, sheets=10").unwrap() - 0.4).abs() < 1e-12);
        assert_eq!(built("0.4 mm"), Ok(0.4));
        for text in ["tissue=0.02mm,per-section=2", "tissue=20um, sheets=10", "0.4"] {
            let guards = Guards::parse(text, LengthUnit::Millimetre).unwrap();
            let again = Guards::parse(&guards.to_string(), LengthUnit::Inch);
            assert_eq!(again, Ok(guards), "{text}");
        }
    }

    #[test]
    fn what_is_no_repair_is_refused_with_an_example() {
        for bad in ["tissue=0.02", "per-section=2", "tissue=0.02,per-section=2,sheets=4"] {
            assert!(built(bad).unwrap_err().contains("such as 'tissue=0.02mm"), "{bad}");
        }
        assert!(built("tissue=0.02,per-section=0").unwrap_err().contains("whole number"));
        assert!(built("tissue=1.5,per-section=8").unwrap_err().contains("add up to 576"));
        assert!(built("thick").is_err() && built("tissue=x,sheets=2").is_err());
    }
}
