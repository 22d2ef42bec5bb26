//! Thicknesses that were measured, by a flag.

use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::model::Gaussian;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::trade::ranges;
use crate::units::{LengthUnit, Millimetres, parse_length_list};

/// Readings of a thickness, in mm.
pub(crate) fn checked_thicknesses(text: &str, unit: LengthUnit) -> Result<Vec<f64>, String> {
    let lengths = parse_length_list(text, unit).map_err(|error| error.to_string())?;
    let check = |length: &Millimetres| {
        ranges::THICKNESS.check(length.mm()).map_err(|error| error.to_string())
    };
    lengths.iter().map(check).collect()
}

/// Readings of a thickness by a flag, in mm.
///
/// # Errors
/// [`CliError::Value`] names the flag.
pub(crate) fn thicknesses(
    flag: &'static str,
    typed: &str,
    unit: LengthUnit,
) -> Result<Vec<f64>, CliError> {
    by_flag(flag, typed, |text| checked_thicknesses(text, unit))
}

/// The mean of such readings and how well it is known.
///
/// # Errors
/// [`CliError::Value`] for text that is not a thickness.
pub(crate) fn measured_edge(
    flag: &'static str,
    typed: &str,
    (book, bench): (&Book, &Bench),
) -> Result<Option<Gaussian>, CliError> {
    let readings = thicknesses(flag, typed, book.config().unit)?;
    Ok(bench.observations.measured_edge(&readings).map(|(mean, sd)| Gaussian { mean, sd }))
}
