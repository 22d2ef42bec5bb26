//! The wanted swell: a target of the book, two bounds, or the geometry of the spine.

use super::answer_band::Band;
use super::command_words::Words;
use crate::book::{Book, entry_named, names_of};
use crate::terminal::refusal::CliError;
use crate::terminal::values::ValueError;
use crate::terminal::{suggest, values};
use crate::trade::SpineGeometry;
use crate::units::{LengthUnit, Millimetres, parse_length, parse_range};

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Wanted {
    /// A target of the book or typed bounds.
    pub band: Option<Band>,
    pub geometry: Option<SpineGeometry>,
}

impl Wanted {
    /// The band for which chances are worked out, on a block with this fore-edge in mm: the target,
    /// else the swell of the geometry with room on either side.
    pub fn band_on(&self, fore_edge_mm: f64) -> Option<Band> {
        let by_geometry = || self.geometry.map(|wanted| Band::around(wanted, fore_edge_mm));
        self.band.clone().or_else(by_geometry)
    }
}

/// The target that the words name, if any.
pub(crate) fn band(words: &Words, book: &Book) -> Result<Option<Band>, CliError> {
    words.parsed("target", |typed| band_of(typed, book))
}

/// A target by its name in the book, or as LOW..HIGH.
pub(super) fn band_of(typed: &str, book: &Book) -> Result<Band, ValueError> {
    let found = entry_named(book.targets(), typed.trim());
    match parse_range(typed) {
        Ok((low, high)) if found.is_none() => {
            return Band::new(low, high).map_err(ValueError::said);
        }
        Err(error) if found.is_none() && error.is_of_numbers() => {
            return Err(ValueError::said(error));
        }
        Ok(_) | Err(_) => {}
    }
    found.map(Band::from).ok_or_else(|| {
        let known = suggest::unknown("target", typed, &names_of(book.targets()));
        ValueError::Said(format!("{known} (or give LOW..HIGH in per cent, such as 25..35)"))
    })
}

/// The geometry of the spine that the words give, if any.
pub(super) fn geometry(words: &Words, unit: LengthUnit) -> Result<Option<SpineGeometry>, CliError> {
    let degrees = words.parsed("round", |text| {
        let number = values::number(text, &["degrees", "deg", "\u{b0}"])?;
        SpineGeometry::ROUND.check(number).map_err(ValueError::said)
    })?;
    let shoulder = words.parsed("shoulder", |text| shoulder(text, unit))?;
    let Some(degrees) = degrees else {
        return match shoulder {
            Some(_) => {
                let message =
                    format!("give the arc of the spine too, as {}", words.named(&["round"]));
                Err(words.fault("shoulder", &message))
            }
            None => Ok(None),
        };
    };
    let geometry = SpineGeometry::new(degrees, shoulder);
    geometry.map(Some).map_err(|error| words.fault("round", &error.to_string()))
}

fn shoulder(text: &str, unit: LengthUnit) -> Result<Millimetres, ValueError> {
    let length = parse_length(text, unit).map_err(ValueError::said)?;
    SpineGeometry::SHOULDER.check(length.mm()).map_err(ValueError::said)?;
    Ok(length)
}
