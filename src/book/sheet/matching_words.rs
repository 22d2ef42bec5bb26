//! What matching says about readings.

use super::flat::Sheet;
use super::remedy::{correct_edges, day_of, name_place, note_on, restore, strike};
use crate::book::csv::tail::{decimal, values};
use crate::book::entries::held::{EntryKind, reading_id};
use crate::book::entries::reading::ReadingRow;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::{DateOrder, Reading, parse_day};
use crate::units::{LengthUnit, Millimetres};

/// A length as messages in `unit` show it.
fn shown(length: Option<Millimetres>, unit: LengthUnit) -> String {
    match (length.map(Millimetres::mm), unit) {
        (None, _) => "nothing".to_owned(),
        (Some(mm), LengthUnit::Millimetre) => format!("{} mm", decimal(mm, false)),
        (Some(mm), _) => unit.found(mm),
    }
}

fn edges(reading: &Reading, unit: LengthUnit) -> String {
    let (spine, fore_edge) = (shown(reading.spine(), unit), shown(reading.fore_edge(), unit));
    format!("spine {spine} and fore-edge {fore_edge}")
}

fn with_id(reading: &Reading, unit: LengthUnit) -> String {
    format!("{} with {}", reading_id(reading), edges(reading, unit))
}

fn block(reading: &Reading) -> String {
    format!("{} {}", reading.trial, reading.state.phrase())
}

/// The book has another reading at the place of this one, which may have another name by now.
pub(super) fn other_there(
    sheet: &Sheet,
    there: &Reading,
    reading: &Reading,
    unit: LengthUnit,
) -> String {
    let before = (there.place != reading.place)
        .then(|| format!("{} is {} in this book now: ", reading_id(reading), reading_id(there)));
    format!(
        "{}the book has {}, not {} and {}; if this is another block, give it a trial name of its own in the sheet; if the book is wrong: {}",
        before.unwrap_or_default(),
        with_id(there, unit),
        shown(reading.spine(), unit),
        shown(reading.fore_edge(), unit),
        correct_edges(sheet, there, reading)
    )
}

pub(super) fn in_sheet_twice(reading: &Reading) -> String {
    format!("reading {} is in the sheet twice", reading_id(reading))
}

/// The reading that has the place of a struck one now, or the last one that was struck there.
#[derive(Clone, Copy)]
pub(super) enum Last<'a> {
    Live(&'a Reading),
    Gone(&'a Reading),
}

/// A reading that stays struck, and how to bring it back.
pub(super) fn struck(
    sheet: &Sheet,
    row: usize,
    reading: &Reading,
    last: Last<'_>,
    unit: LengthUnit,
) -> Notice {
    let way = match last {
        Last::Live(live) => format!(
            "the book has {} now; if that is wrong: {}",
            with_id(live, unit),
            correct_edges(sheet, live, reading)
        ),
        Last::Gone(gone) => {
            let back = restore(sheet, EntryKind::Reading, &reading_id(gone));
            let is_it = values(gone) == values(reading);
            let then = (!is_it).then(|| format!(" && {}", correct_edges(sheet, gone, reading)));
            format!("to bring it back: {back}{}", then.unwrap_or_default())
        }
    };
    let what = format!("a reading of {} with {}", block(reading), edges(reading, unit));
    Notice::Struck { place: Location::row(&sheet.source, row), what, way }
}

/// A trial that stays struck, and how to bring it back.
pub(super) fn struck_trial(sheet: &Sheet, row: usize, name: &str) -> Notice {
    let way = format!(
        "to bring it back: {}; if this is another block, give it another name in the sheet",
        restore(sheet, EntryKind::Trial, name)
    );
    let place = Location::row(&sheet.source, row);
    Notice::Struck { place, what: format!("trial '{name}'"), way }
}

/// A new reading in a state of which the sheet lacks the readings `left` of the book.
pub(super) fn lacking(
    sheet: &Sheet,
    row: usize,
    reading: &Reading,
    left: &[&Reading],
    unit: LengthUnit,
) -> Notice {
    let held: Vec<String> = left.iter().map(|reading| with_id(reading, unit)).collect();
    let (place, way) = (Location::row(&sheet.source, row), strike(sheet, left));
    Notice::Lacking { place, what: block(reading), held: held.join(", "), way }
}

/// The note and the day of a reading that the book has otherwise, or without them.
pub(super) fn not_kept(
    sheet: &Sheet,
    row: usize,
    reading: &Reading,
    there: &Reading,
) -> [Option<Notice>; 2] {
    let note = (ReadingRow::note, "note", &reading.note, &there.note);
    let taken = (ReadingRow::taken, "day", &reading.taken, &there.taken);
    [note, taken].map(|(column, noun, given, held)| {
        let is_same = given == held || (noun == "day" && is_same_day(given, held));
        (!given.is_empty() && !is_same).then(|| {
            let has = if held.is_empty() { "no" } else { "another" };
            let what = format!("{has} {noun} of reading '{}'", reading_id(there));
            let way = match column == ReadingRow::note {
                true => note_on(sheet, there),
                false => day_of(sheet, there, given),
            };
            let place = Location::cell(&sheet.source, row, column.name);
            Notice::NotAdded { place, what, more: 0, way: Some(way) }
        })
    })
}

/// A reading of the sheet that the book has at another place.
pub(super) fn moved(sheet: &Sheet, row: usize, reading: &Reading, there: &Reading) -> Notice {
    let place = Location::cell(&sheet.source, row, ReadingRow::place.name);
    let what = format!("reading '{}' as '{}'", reading_id(reading), reading_id(there));
    let way = Some(name_place(sheet, there, &reading.place));
    Notice::NotAdded { place, what, more: 0, way }
}

/// Whether two texts mean the same day. Books hold days as they were written, perhaps in one of two
/// orders.
fn is_same_day(one: &str, other: &str) -> bool {
    let days = |text| {
        let orders = [DateOrder::DayFirst, DateOrder::MonthFirst];
        orders.map(|order| parse_day(text, Some(order)).ok())
    };
    let other = days(other);
    days(one).iter().any(|day| day.is_some() && other.contains(day))
}
