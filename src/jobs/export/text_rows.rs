//! Measurements as columns, with the names and units of the book's own files.

use super::answer_rows::{Row, Weighed};
use super::text_format::{column, numbered};
use crate::observe::Observation;
use crate::terminal::mark::{OBSERVATIONS, READINGS};
use crate::trade::Name;
use crate::units::Millimetres;
use polars::prelude::Column;

pub(crate) fn observation_columns(rows: &[Row<'_, &Observation>]) -> Vec<Column> {
    let mut columns = trial_columns(OBSERVATIONS, rows);
    columns.extend([
        column("state", rows, |row| row.of.state.word()),
        column("spine_readings", rows, |row| row.of.spine_readings),
        column("fore_edge_readings", rows, |row| row.of.fore_edge_readings),
        column("fore_edge_mm", rows, |row| row.of.fore_edge_mm),
        column("swell_mm", rows, |row| row.of.swell_mm),
        column("variance_mm2", rows, |row| row.of.variance),
    ]);
    columns
}

/// The columns of a table of readings, taken with a gauge of this resolution.
pub(crate) fn reading_columns(rows: &[Row<'_, Weighed<'_>>], resolution_mm: f64) -> Vec<Column> {
    let mut columns = trial_columns(READINGS, rows);
    columns.extend([
        column("trial_number", rows, |row| row.number),
        column("resolution_mm", rows, |_| resolution_mm),
        column("state", rows, |row| row.of.reading.state.word()),
        column("place", rows, |row| row.of.reading.place.as_str()),
        column("spine_mm", rows, |row| row.of.reading.spine().map(Millimetres::mm)),
        column("fore_edge_mm", rows, |row| row.of.reading.fore_edge().map(Millimetres::mm)),
        column("swell_mm", rows, |row| row.of.swell_mm),
        column("spine_weight", rows, |row| row.of.spine_weight),
        column("fore_edge_weight", rows, |row| row.of.fore_edge_weight),
        column("taken", rows, |row| written(&row.of.reading.taken)),
        column("note", rows, |row| written(&row.of.reading.note)),
    ]);
    columns
}

fn trial_columns<T>(mark: &str, rows: &[Row<'_, T>]) -> Vec<Column> {
    vec![
        numbered(mark, rows.len()),
        column("trial", rows, |row| row.trial.name.as_str()),
        column("date", rows, |row| row.trial.date.map(|date| date.to_string())),
        column("kind", rows, |row| row.trial.kind.word()),
        column("hand", rows, |row| row.trial.hand.as_ref().map(Name::as_str)),
        column("paper", rows, |row| row.paper.name.as_str()),
        column("hardness", rows, |row| row.paper.hardness.word()),
        column("grammage_gsm", rows, |row| row.paper.grammage.map(|grammage| grammage.gsm())),
        column("caliper_mm", rows, |row| row.paper.caliper().mm()),
        column("thread", rows, |row| row.thread.name.as_str()),
        column("material", rows, |row| row.thread.material.word()),
        column("laid_mm", rows, |row| row.thread.diameter().mm()),
        column("sections", rows, |row| u32::from(row.trial.sewing.sections())),
        column("sheets", rows, |row| u32::from(row.trial.sewing.sheets())),
        column("on", rows, |row| u32::from(row.trial.sewing.on())),
        column("ends", rows, |row| u32::from(row.trial.sewing.ends())),
        column("first_ends", rows, |row| u32::from(row.trial.sewing.first())),
        column("last_ends", rows, |row| u32::from(row.trial.sewing.last())),
        column("boned", rows, |row| row.trial.boned),
        column("guards_mm", rows, |row| row.sewn.guards_mm),
        column("build_up_mm", rows, |row| row.sewn.build_up_mm),
        column("leaves_mm", rows, |row| row.sewn.leaves_mm),
    ]
}

/// The text, unless it is empty.
fn written(text: &str) -> Option<&str> {
    Some(text).filter(|text| !text.is_empty())
}
