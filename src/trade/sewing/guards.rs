//! Repairs at the fold: strips of thin paper that thicken the spine.

use super::scheme::Sewing;
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
    PerSection { tissue_mm: f64, sheets: u32 },
    /// Sheets in the whole block guarded with tissue of this thickness in mm.
    InAll { tissue_mm: f64, sheets: u32 },
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum GuardsError {
    #[error(transparent)]
    Pairs(#[from] PairsError),
    #[error(
        "give tissue=LENGTH with per-section=N or sheets=N, such as 'tissue=0.02mm,per-section=2', or the build-up over the block as a length"
    )]
    Incomplete,
    #[error("{0}")]
    Length(String),
    #[error("'{found}' is not a whole number of sheets, 1 or more")]
    Sheets { found: String },
    #[error("{sheets} guarded sheets are more than a section has")]
    PerSection { sheets: u32 },
    #[error("{sheets} guarded sheets are more than the {most} of the book")]
    InAll { sheets: u32, most: u32 },
    #[error("build-up over the block: {0}")]
    Range(#[from] OutOfRange),
}

impl Guards {
    /// Parses a length, or `tissue=LENGTH` with `per-section=N` or `sheets=N`; plain numbers are in
    /// `unit`.
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

    /// Their build-up over a book of these parts, in mm. A strip round a fold adds its thickness
    /// twice. Where a section has fewer sheets than are guarded elsewhere, all of them are guarded.
    /// Source: docs/model.md, "From readings to observations".
    ///
    /// # Errors
    /// [`GuardsError`] for more sheets than there are, or more than any spine holds.
    pub fn build_up_mm(self, parts: &[Sewing]) -> Result<f64, GuardsError> {
        let total = match self {
            Self::BuildUp(total) => total,
            Self::PerSection { tissue_mm, sheets } => {
                if parts.iter().all(|part| u32::from(part.sheets()) < sheets) {
                    return Err(GuardsError::PerSection { sheets });
                }
                let guarded = |part: &Sewing| {
                    u32::from(part.sections()) * sheets.min(u32::from(part.sheets()))
                };
                2.0 * tissue_mm * f64::from(parts.iter().map(guarded).sum::<u32>())
            }
            Self::InAll { tissue_mm, sheets } => {
                let most = parts.iter().map(|part| part.leaves() / 2).sum();
                if sheets > most {
                    return Err(GuardsError::InAll { sheets, most });
                }
                2.0 * tissue_mm * f64::from(sheets)
            }
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
        let parts = [Sewing::new(24, 8, 1, 0).unwrap()];
        guards.build_up_mm(&parts).map_err(|error| error.to_string())
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
    fn no_sheet_is_guarded_that_a_book_does_not_have() {
        let part = |sections, sheets| Sewing::new(sections, sheets, 1, 0).unwrap();
        let built = |text: &str, parts: &[Sewing]| {
            let guards = Guards::parse(text, LengthUnit::Millimetre).unwrap();
            guards.build_up_mm(parts).map_err(|error| error.to_string())
        };
        // By hand: 10 sections of 4 with 3 guarded and one of 2 with both, 2 × 0.05 × 32 = 3.2.
        let mixed = [part(10, 4), part(1, 2)];
        assert!((built("tissue=0.05,per-section=3", &mixed).unwrap() - 3.2).abs() < 1e-12);
        assert!(built("tissue=0.05,sheets=42", &mixed).is_ok());
        let error = built("tissue=0.05,per-section=5", &mixed).unwrap_err();
        assert_eq!(error, "5 guarded sheets are more than a section has");
        let error = built("tissue=0.05,sheets=43", &mixed).unwrap_err();
        assert_eq!(error, "43 guarded sheets are more than the 42 of the book");
    }

    #[test]
    fn what_is_no_repair_is_refused_with_an_example() {
        for bad in ["tissue=0.02", "per-section=2", "tissue=0.02,per-section=2,sheets=4"] {
            assert!(built(bad).unwrap_err().contains("such as 'tissue=0.02mm"), "{bad}");
        }
        assert!(built("tissue=0.02,per-section=0").unwrap_err().contains("whole number"));
        assert!(
            built("tissue=1.5,per-section=8").unwrap_err().contains("block: 576 mm is outside")
        );
        assert_eq!(built("-1").unwrap_err(), "build-up over the block: -1 mm is outside 0..50 mm");
        assert!(built("thick").is_err() && built("tissue=x,sheets=2").is_err());
    }
}
