//! Writes new rows in the style of the file they are added to.

use super::columns::{Column, Kind, match_columns};
use super::decimals::comma_style;
use super::kinds::Value;
use super::notes::note;
use super::scan::LineEnd;
use super::table::{Style, Table};
use crate::book::check::faults::Messages;
use crate::book::entries::held::{Entries, for_each_kind};
use crate::book::entries::table::{Record, Row};
use crate::book::error::Fault;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::trade::Reading;
use crate::units::{at_once, cores};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The rows of `entries` as bytes, to be appended to each file in `tables`.
///
/// # Errors
/// A [`Fault`] for each value whose column the file does not have, and for each text that may not
/// be written.
pub(in crate::book) fn tails(
    tables: &BTreeMap<BookFile, Table<'_>>,
    entries: &Entries,
) -> Result<BTreeMap<BookFile, Vec<u8>>, Vec<Fault>> {
    let (mut tails, mut faults) = (BTreeMap::new(), Vec::new());
    let mut add = |file: BookFile, tail: Option<Result<Vec<u8>, Vec<Fault>>>| match tail {
        Some(Ok(bytes)) => drop(tails.insert(file, bytes)),
        Some(Err(more)) => faults.extend(more),
        None => {}
    };
    macro_rules! add_all {
        ($($list:ident: $kind:ty, $file:ident;)*) => {
            $(add(BookFile::$file, tail(tables, &entries.$list));)*
        };
    }
    for_each_kind!(add_all);
    if faults.is_empty() { Ok(tails) } else { Err(faults) }
}

/// The rows of one kind; `None` if there are none.
pub(in crate::book) fn tail<T: Record>(
    tables: &BTreeMap<BookFile, Table<'_>>,
    records: &[T],
) -> Option<Result<Vec<u8>, Vec<Fault>>> {
    let table = tables.get(&T::FILE).filter(|_| !records.is_empty())?;
    let map = match_columns(table, T::Row::COLUMNS, &mut Messages::default());
    let absent: Vec<usize> =
        map.places().enumerate().filter(|(_, at)| at.is_none()).map(|(at, _)| at).collect();
    let lost: Vec<Fault> =
        records.iter().flat_map(|record| without_column::<T::Row>(record, &absent)).collect();
    if !lost.is_empty() {
        return Some(Err(lost));
    }
    let comma = comma_style(table, &map);
    let places: Vec<Option<usize>> = map.places().collect();
    let in_part = |records: &[T]| {
        let (mut writer, mut refused) = (writer(&table.style), Vec::new());
        let mut fields = vec![String::new(); table.header.len()];
        for record in records {
            refused.append(&mut fill(&mut fields, &T::Row::of(record), &places, comma));
            // Writing into memory cannot fail.
            let _ = writer.write_record(&fields);
        }
        (writer.into_inner().unwrap_or_default(), refused)
    };
    let step = records.len().div_ceil(cores()).max(WORTH_SHARING);
    let (mut bytes, mut refused) = (begun(table), Vec::new());
    for (of_part, mut faults) in at_once(records.chunks(step), in_part) {
        bytes.extend_from_slice(&of_part);
        refused.append(&mut faults);
    }
    Some(if refused.is_empty() { Ok(bytes) } else { Err(refused) })
}

/// With fewer rows a second thread does not pay.
const WORTH_SHARING: usize = 1000;

/// The line end that the last row may lack.
fn begun(table: &Table<'_>) -> Vec<u8> {
    let Style { ended, line_end, .. } = &table.style;
    if *ended { Vec::new() } else { line_end.text().into() }
}

/// Fills the fields of a row in the order of the file's header. Returns a fault for each text that
/// may not be written.
fn fill<R: Row>(
    fields: &mut [String],
    row: &R,
    places: &[Option<usize>],
    comma: bool,
) -> Vec<Fault> {
    let mut refused = Vec::new();
    for ((column, value), at) in R::COLUMNS.iter().zip(row.values()).zip(places) {
        let Some(field) = at.and_then(|index| fields.get_mut(index)) else { continue };
        field.clear();
        match value {
            Value::Text(text) => {
                refused.extend(refusal(R::FILE, column, &text));
                field.push_str(&text);
            }
            Value::Number(number) => {
                push_decimal(field, number, comma && column.kind == Kind::Decimal);
            }
            Value::Empty => {}
        }
    }
    refused
}

/// The fault of a free text that may not be written.
fn refusal(file: BookFile, column: &Column, text: &str) -> Option<Fault> {
    let error = (column.kind == Kind::Note).then(|| note(text).err())??;
    let message = format!("{}: {error}", column.name);
    Some(Fault::new(Location::file(file.name()), message))
}

/// Faults for the values that would be lost because the file lacks the columns `absent`.
fn without_column<R: Row>(entry: &R::Entry, absent: &[usize]) -> Vec<Fault> {
    if absent.is_empty() {
        return Vec::new();
    }
    let (row, empty, file) = (R::of(entry), R::empty(), R::FILE.name());
    let (values, defaults) = (row.values(), empty.values());
    let says_more = |at: &&usize| values[**at] != Value::Empty && values[**at] != defaults[**at];
    let lost = absent.iter().filter(says_more).map(|at| R::COLUMNS[*at].name);
    lost.map(|column| {
        let message =
            format!("{file} has no column {column} to write to; add {column} to its header");
        Fault::new(Location::file(file), message)
    })
    .collect()
}

/// A number as the files hold it, rounded to a millionth. For lengths this is a nanometre, so it
/// removes only the errors of converting units.
fn held(number: f64) -> f64 {
    // Adding zero removes the sign of a negative zero.
    (number * 1e6).round() / 1e6 + 0.0
}

/// The spine and fore-edge of a reading as the files hold them. Two readings are equal if these
/// are, no matter whether they were read, typed or converted.
pub(in crate::book) type Values = [Option<u64>; 2];

pub(in crate::book) fn values(reading: &Reading) -> Values {
    [reading.spine(), reading.fore_edge()]
        .map(|length| length.map(|length| held(length.mm()).to_bits()))
}

/// A number as it is written: the shortest text of the number that the files hold.
pub(in crate::book) fn decimal(number: f64, comma: bool) -> String {
    let mut text = String::new();
    push_decimal(&mut text, number, comma);
    text
}

/// A value as the files hold it, with a decimal point.
pub(in crate::book) fn shown(value: &Value<'_>) -> String {
    let mut text = String::new();
    push_shown(&mut text, value);
    text
}

/// Appends a value to a text, in the form of [`shown`].
pub(in crate::book) fn push_shown(text: &mut String, value: &Value<'_>) {
    match value {
        Value::Text(more) => text.push_str(more),
        Value::Number(number) => push_decimal(text, *number, false),
        Value::Empty => {}
    }
}

fn push_decimal(text: &mut String, number: f64, comma: bool) {
    let mark = if comma { ',' } else { '.' };
    let millionths = (number * 1e6).round();
    // An `f64` keeps this many digits, so its shortest text is that of its millionths.
    if millionths.abs() < 1e15 {
        return push_millionths(text, millionths as i64, mark);
    }
    // Writing into memory cannot fail.
    let _ = write!(text, "{}", held(number));
}

fn push_millionths(text: &mut String, number: i64, mark: char) {
    const WHOLE: u64 = 1_000_000;
    if number < 0 {
        text.push('-');
    }
    let (whole, mut rest) = (number.unsigned_abs() / WHOLE, number.unsigned_abs() % WHOLE);
    // Writing into memory cannot fail.
    let _ = write!(text, "{whole}");
    if rest > 0 {
        let mut places = 6;
        while rest.is_multiple_of(10) {
            (rest, places) = (rest / 10, places - 1);
        }
        let _ = write!(text, "{mark}{rest:0places$}");
    }
}

fn writer(style: &Style) -> csv::Writer<Vec<u8>> {
    let terminator = match style.line_end {
        LineEnd::Lf => csv::Terminator::Any(b'\n'),
        LineEnd::CrLf => csv::Terminator::CRLF,
        LineEnd::Cr => csv::Terminator::Any(b'\r'),
    };
    let mut builder = csv::WriterBuilder::new();
    builder.delimiter(style.delimiter).terminator(terminator).flexible(true);
    builder.from_writer(Vec::new())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_as_short_as_they_are() {
        assert_eq!(decimal(11.05, false), "11.05");
        assert_eq!(decimal(0.386 * 25.4, true), "9,8044");
        assert_eq!(decimal(-0.0, false), "0");
        assert_eq!(decimal(24.0, false), "24");
        assert_eq!(
            (&*decimal(1e21, true), &*decimal(-0.05, true)),
            ("1000000000000000000000", "-0,05")
        );
        assert_eq!((&*decimal(1e9, false), &*decimal(1e-6, false)), ("1000000000", "0.000001"));
    }

    proptest::proptest! {
        #[test]
        fn numbers_are_written_as_the_shortest_text_of_what_is_held(
            number in -2e9..2e9_f64, places in 0..9
        ) {
            for number in [number, number / 10_f64.powi(places), number.round() / 10_f64.powi(places)] {
                proptest::prop_assert_eq!(decimal(number, false), format!("{}", held(number)));
            }
        }
    }
}
