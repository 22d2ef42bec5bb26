//! Reads the lengths of a book from flags: measured thicknesses, and the height.

use crate::book::Book;
use crate::jobs::fitted::Fitted;
use crate::model::Gaussian;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::values::{self, ValueError};
use crate::trade::{Height, ranges};
use crate::units::{LengthUnit, Millimetres, parse_length_list};

/// Parses readings of a thickness, in mm.
pub(crate) fn checked_thicknesses(text: &str, unit: LengthUnit) -> Result<Vec<f64>, ValueError> {
    let lengths = parse_length_list(text, unit).map_err(ValueError::said)?;
    let check = |length: &Millimetres| {
        let possible = ranges::THICKNESS.check(length.mm());
        possible.map_err(|error| ValueError::Outside { error, unit, typed_in: None })
    };
    lengths.iter().map(check).collect()
}

/// Readings of a thickness from a flag, in mm.
///
/// # Errors
/// [`CliError::Value`] that names the flag.
pub(crate) fn thicknesses(
    flag: &'static str,
    typed: &str,
    unit: LengthUnit,
) -> Result<Vec<f64>, CliError> {
    by_flag(flag, typed, |text| checked_thicknesses(text, unit))
}

/// The mean of readings in mm with its standard deviation; `None` without readings.
pub(crate) fn mean_of(readings: &[f64], known: Fitted<'_>) -> Option<Gaussian> {
    let (mean, sd) = known.bench.observations.measured_edge(readings)?;
    Some(Gaussian { mean, sd })
}

/// The mean of the readings of a flag in mm, with its standard deviation.
///
/// # Errors
/// [`CliError::Value`] for text that is not a thickness.
pub(crate) fn measured_edge(
    flag: &'static str,
    typed: &str,
    known: Fitted<'_>,
) -> Result<Option<Gaussian>, CliError> {
    Ok(mean_of(&thicknesses(flag, typed, known.book.config().unit)?, known))
}

/// The height assumed if none is given (common practice, no source).
fn usual_height(unit: LengthUnit) -> &'static str {
    if unit.is_of_inches() { "10in" } else { "250mm" }
}

/// The height of a book along its spine.
///
/// # Errors
/// [`CliError::Value`] for an impossible height.
pub(crate) fn height(typed: Option<&str>, book: &Book) -> Result<Height, CliError> {
    let unit = book.config().unit;
    by_flag("--height", typed.unwrap_or(usual_height(unit)), |text| {
        let length = values::length(text, unit, ranges::HEIGHT)?;
        Height::new(length).map_err(ValueError::said)
    })
}
