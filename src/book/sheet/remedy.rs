//! The commands that a message about a sheet names.

use super::flat::Sheet;
use crate::book::csv::columns::{Column, Kind};
use crate::book::csv::kinds::Value;
use crate::book::csv::tail::{decimal, shown};
use crate::book::entries::held::{EntryKind, reading_id};
use crate::trade::{Edge, Place, Reading};
use crate::units::{Millimetres, quoted};
use jiff::civil::Date;

/// Corrects one value of a paper, a thread or a trial. The option for a column has its name without
/// the unit.
pub(super) fn correct_value(
    sheet: &Sheet,
    kind: EntryKind,
    name: &str,
    column: &Column,
    value: &Value<'_>,
) -> String {
    let option = ["_mm", "_gsm"].iter().find_map(|unit| column.name.strip_suffix(unit));
    let (option, value) = (option.unwrap_or(column.name), shown(value));
    let given = match (column.kind, &*value) {
        (Kind::YesNo, "no") => format!("--not-{option}"),
        (Kind::YesNo, _) => format!("--{option}"),
        _ if column.range.unit == "mm" => format!("--{option} {value}mm"),
        _ => format!("--{option} {}", quoted(&value)),
    };
    sheet.command(&format!("correct {kind} {} {given}", quoted(name)))
}

/// Gives a reading of the book the edges of another.
pub(super) fn correct_edges(sheet: &Sheet, is: &Reading, wanted: &Reading) -> String {
    let mm = |edge: Option<Millimetres>| edge.map(|edge| decimal(edge.mm(), false));
    let mut command = sheet.command(&format!("correct reading {}", quoted(&reading_id(is))));
    for (option, edge) in [("--spine", Edge::Spine), ("--fore-edge", Edge::ForeEdge)] {
        let (is, wanted) = (mm(is.edge(edge)), mm(wanted.edge(edge)));
        if is != wanted {
            let wanted = wanted.map_or_else(|| quoted(""), |mm| mm + "mm");
            command += &format!(" {option} {wanted}");
        }
    }
    command
}

pub(super) fn note_on(sheet: &Sheet, reading: &Reading) -> String {
    sheet.command(&format!("correct reading {} --note \"…\"", quoted(&reading_id(reading))))
}

/// Gives the place of a reading another name.
pub(super) fn name_place(sheet: &Sheet, reading: &Reading, place: &Place) -> String {
    let (id, place) = (quoted(&reading_id(reading)), quoted(place.as_str()));
    sheet.command(&format!("correct reading {id} --place {place}"))
}

/// Gives a reading the day on which it was taken. A sheet may have any text instead of a day.
pub(super) fn day_of(sheet: &Sheet, reading: &Reading, taken: &str) -> String {
    let day = taken.parse::<Date>().map_or_else(|_| "YYYY-MM-DD".to_owned(), |day| day.to_string());
    sheet.command(&format!("correct reading {} --taken {day}", quoted(&reading_id(reading))))
}

pub(super) fn restore(sheet: &Sheet, kind: EntryKind, id: &str) -> String {
    sheet.command(&format!("restore {kind} {}", quoted(id)))
}

pub(super) fn strike(sheet: &Sheet, readings: &[&Reading]) -> String {
    let ids: Vec<String> = readings.iter().map(|it| quoted(&reading_id(it))).collect();
    sheet.command(&format!("strike reading {} --reason \"…\"", ids.join(" ")))
}
