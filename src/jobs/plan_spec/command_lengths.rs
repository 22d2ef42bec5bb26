//! Reads the lengths of a book from flags: measured thicknesses, and the height.

use crate::book::Book;
use crate::jobs::doubt::answer_apart::{Doubtful, doubtful};
use crate::jobs::fitted::Fitted;
use crate::model::Gaussian;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::values::{self, ValueError};
use crate::trade::{Height, ranges};
use crate::units::{LengthUnit, Millimetres, split_length_list};

/// Parses readings of a thickness, in mm.
pub(crate) fn checked_thicknesses(text: &str, unit: LengthUnit) -> Result<Vec<f64>, ValueError> {
    let fields = split_length_list(text).map_err(ValueError::said)?;
    let thickness = |field| values::length(field, unit, ranges::THICKNESS).map(Millimetres::mm);
    fields.into_iter().map(thickness).collect()
}

/// Readings of a thickness from a flag, in mm.
pub(crate) fn thicknesses(
    flag: &'static str,
    typed: &str,
    unit: LengthUnit,
) -> Result<Vec<f64>, CliError> {
    by_flag(flag, typed, |text| checked_thicknesses(text, unit))
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct MeasuredEdge {
    /// Their mean in mm with its standard deviation.
    pub mean: Gaussian,
    pub doubtful: Option<Doubtful>,
}

/// The fore-edge from readings in mm; `None` without readings.
pub(crate) fn mean_of(readings: &[f64], known: Fitted<'_>) -> Option<MeasuredEdge> {
    let all = &known.bench.observations;
    let (mean, sd) = all.measured_edge(readings)?;
    Some(MeasuredEdge { mean: Gaussian { mean, sd }, doubtful: doubtful(readings, all) })
}

pub(crate) fn measured_edge(
    flag: &'static str,
    typed: &str,
    known: Fitted<'_>,
) -> Result<Option<MeasuredEdge>, CliError> {
    Ok(mean_of(&thicknesses(flag, typed, known.book.config().unit)?, known))
}

/// The flag for a fore-edge that was measured before the sewing.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct FoldedArgs {
    /// Fore-edge measured on the folded block: one or more readings, separated by commas
    #[arg(long, value_name = "LENGTHS")]
    fore_edge: Option<String>,
}

impl FoldedArgs {
    pub fn is_given(&self) -> bool {
        self.fore_edge.is_some()
    }

    pub fn typed(&self) -> Option<&str> {
        self.fore_edge.as_deref()
    }

    /// The fore-edge from the readings; `None` if the flag is not given.
    pub fn measured(&self, known: Fitted<'_>) -> Result<Option<MeasuredEdge>, CliError> {
        let Some(typed) = &self.fore_edge else { return Ok(None) };
        measured_edge("--fore-edge", typed, known)
    }
}

/// The height assumed if none is given (common practice, no source).
fn usual_height(unit: LengthUnit) -> &'static str {
    if unit.is_of_inches() { "10in" } else { "250mm" }
}

pub(crate) fn height(typed: Option<&str>, book: &Book) -> Result<Height, CliError> {
    let unit = book.config().unit;
    by_flag("--height", typed.unwrap_or(usual_height(unit)), |text| {
        let length = values::length(text, unit, ranges::HEIGHT)?;
        Height::new(length).map_err(ValueError::said)
    })
}
