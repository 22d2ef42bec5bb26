//! The columns of a file, and where each one is in the table that was read.

use super::table::Table;
use crate::book::check::faults::{Faults, Messages};
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::Range;
use crate::units::shown;
use std::cell::Cell;

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// One of these comma-separated words.
    Words(&'static str),
    /// A number in the range of the column, with or without a decimal mark.
    Decimal,
    /// A whole number, however it is written.
    Whole,
    YesNo,
    Date,
    Text,
    /// A free text of the binder's own.
    Note,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    pub name: &'static str,
    /// An example of a cell, with another meaning than an empty cell.
    pub example: &'static str,
    /// What it is about, for the reference page.
    pub about: &'static str,
    /// When it is needed, for the reference page. Empty if always or never.
    pub needs: &'static str,
    /// Whether the header must name it.
    pub required: bool,
    pub kind: Kind,
    pub range: Range,
    /// The message for an empty cell. Empty if the cell may be empty.
    pub(in crate::book) expected: &'static str,
    /// Its position among the columns of the flat sheet; `None` if it is not in that sheet.
    pub(in crate::book) in_sheet: Option<u8>,
    /// What a message calls it if a sheet never gives it for something new.
    pub(in crate::book) asked: &'static str,
}

impl Column {
    /// A column that may be missing.
    pub(in crate::book) const fn new(
        name: &'static str,
        example: &'static str,
        about: &'static str,
    ) -> Self {
        let (needs, expected, asked) = ("", "", name);
        let (required, kind, in_sheet) = (false, Kind::Text, None);
        let range = Range { low: f64::INFINITY, high: f64::NEG_INFINITY, unit: "" };
        Self { name, example, about, needs, required, kind, range, expected, in_sheet, asked }
    }

    pub(in crate::book) const fn of(self, kind: Kind) -> Self {
        Self { kind, ..self }
    }

    pub(in crate::book) const fn required(self) -> Self {
        Self { required: true, ..self }
    }

    pub(in crate::book) const fn filled(self, expected: &'static str) -> Self {
        Self { expected, ..self.required() }
    }

    pub(in crate::book) const fn within(self, range: Range) -> Self {
        Self { range, ..self }
    }

    pub(in crate::book) const fn needs(self, needs: &'static str) -> Self {
        Self { needs, ..self }
    }

    /// Places the column in the flat sheet, after the columns with a lower number.
    pub(in crate::book) const fn in_sheet(self, place: u8) -> Self {
        Self { in_sheet: Some(place), ..self }
    }

    pub(in crate::book) const fn asked(self, asked: &'static str) -> Self {
        Self { asked, ..self }
    }
}

pub(in crate::book) const A_NAME: &str = "a name is expected";

/// The index of each column of a layout in a table.
#[derive(Clone, Debug)]
pub(in crate::book) struct ColumnMap {
    layout: &'static [Column],
    at: Vec<Option<usize>>,
    /// The position to try first. The cells of millions of rows are asked for in the order of the
    /// layout.
    next: Cell<usize>,
}

impl ColumnMap {
    /// The index of the column `name` in the fields of a row, if the table has it.
    #[inline]
    pub(in crate::book) fn index(&self, name: &str) -> Option<usize> {
        // Usually it is the same string at the same address, so no letters need comparing.
        let is = |column: &Column| std::ptr::eq(column.name, name) || column.name == name;
        let first = self.next.get();
        let position = match self.layout.get(first) {
            Some(column) if is(column) => first,
            _ => self.layout.iter().position(is)?,
        };
        self.next.set(position + 1);
        self.at.get(position).copied().flatten()
    }

    /// The index of each column, in the order of the layout.
    pub(in crate::book) fn places(&self) -> impl Iterator<Item = Option<usize>> {
        self.at.iter().copied()
    }

    /// The columns that the table has, with their index.
    pub(in crate::book) fn present(&self) -> impl Iterator<Item = (&'static Column, usize)> {
        self.layout.iter().zip(&self.at).filter_map(|(column, at)| Some((column, (*at)?)))
    }
}

/// The names of `layout`, separated by commas.
pub(in crate::book) fn names(layout: &[Column]) -> String {
    layout.iter().map(|column| column.name).collect::<Vec<_>>().join(",")
}

/// Units as people write them in a heading, and as column names have them.
const UNITS: [(&str, &str); 12] = [
    ("millimetres", "mm"),
    ("millimeters", "mm"),
    ("millimetre", "mm"),
    ("millimeter", "mm"),
    ("g/m\u{b2}", "gsm"),
    ("g/m2", "gsm"),
    ("g/sqm", "gsm"),
    ("percentage", "percent"),
    ("per cent", "percent"),
    ("%", "percent"),
    ("inches", "in"),
    ("\"", "in"),
];

/// `Spine (mm)` and `spine_mm` fold to the same text. Folding removes capitals, spaces, signs and
/// brackets, which people use differently.
pub(in crate::book) fn folded(name: &str) -> String {
    let mut lower = name.to_lowercase();
    for (written, unit) in UNITS {
        if lower.contains(written) {
            lower = lower.replace(written, unit);
        }
    }
    lower.retain(char::is_alphanumeric);
    lower
}

/// The column of `layout` in millimetres that `found` names in another unit.
fn in_other_unit(found: &str, layout: &[Column]) -> Option<&'static str> {
    const OTHERS: [&str; 6] = ["inch", "in", "thou", "mil", "um", "cm"];
    let found = folded(found);
    let stems = OTHERS.into_iter().filter_map(|unit| found.strip_suffix(unit));
    let mut names = stems.filter_map(|stem| {
        let is = |name: &str| folded(name).strip_suffix("mm") == Some(stem);
        layout.iter().map(|column| column.name).find(|name| is(name))
    });
    names.next()
}

/// Finds the columns of `layout` in the header of `table`. Ignored columns get a notice.
pub(in crate::book) fn match_columns(
    table: &Table<'_>,
    layout: &'static [Column],
    messages: &mut Messages,
) -> ColumnMap {
    let place = || Location::row(table.file, table.header_row);
    let mut map = ColumnMap { layout, at: vec![None; layout.len()], next: Cell::default() };
    let (mut unknown, mut nameless) = (Vec::new(), Vec::new());
    for (index, name) in table.header.iter().enumerate() {
        match layout.iter().position(|column| folded(column.name) == folded(name)) {
            Some(position) if map.at[position].is_some() => {
                let message = format!("column '{}' appears twice; remove one", shown(name));
                messages.faults.add(place(), message);
            }
            Some(position) => map.at[position] = Some(index),
            None if table.left_out.contains(&index) => {}
            None if name.is_empty() => nameless.push(index),
            None => unknown.push(name.as_str()),
        }
    }
    for name in unknown {
        check_unknown(table, name, &map, messages);
    }
    check_nameless(table, nameless, &mut messages.faults);
    let required = missing_of(&map).filter(|column| column.required);
    let absent: Vec<&str> = required.map(|column| column.name).collect();
    if !absent.is_empty() {
        let message = format!(
            "no column {}; the columns are {} in any order",
            absent.join(", "),
            names(layout)
        );
        messages.faults.add(place(), message);
    }
    map
}

fn missing_of(map: &ColumnMap) -> impl Iterator<Item = &'static Column> {
    map.layout.iter().zip(&map.at).filter(|(_, at)| at.is_none()).map(|(column, _)| column)
}

/// Checks that columns without a name are empty.
fn check_nameless(table: &Table<'_>, mut nameless: Vec<usize>, faults: &mut Faults) {
    if nameless.is_empty() {
        return;
    }
    let mut rows = table.rows();
    while let Some(row) = rows.next_row().filter(|_| !nameless.is_empty()) {
        nameless.retain(|&index| {
            let found = row.get(index).unwrap_or_default();
            if !found.is_empty() {
                let message = format!(
                    "'{}' is in column {}, which has no name in the header; name the column or \
                     empty the cell",
                    shown(found),
                    index + 1
                );
                faults.add(Location::row(table.file, row.number), message);
            }
            found.is_empty()
        });
    }
}

/// Handles an unknown column. A probable misspelling or a wrong unit is a fault. Any other column
/// is the binder's own and is ignored, with a notice.
fn check_unknown(table: &Table<'_>, name: &str, map: &ColumnMap, messages: &mut Messages) {
    let place = Location::row(table.file, table.header_row);
    if let Some(column) = in_other_unit(name, map.layout) {
        let message = format!(
            "column '{}' is not in mm; call it {column}, with lengths in mm or with the unit in each cell, such as 0.386in",
            shown(name)
        );
        messages.faults.add(place, message);
    } else if let Some(meant) = nearest(name, missing_of(map).map(|column| column.name)) {
        let message = format!("column '{}' is not known; is it '{meant}'?", shown(name));
        messages.faults.add(place, message);
    } else {
        messages.notices.push(Notice::UnreadColumn { place, column: shown(name) });
    }
}

/// The most likely intended name among `known`; `None` if `found` is not a typing slip of any. A
/// slip changes one letter, or two of seven and more: 'Bogen' is another word than 'boned'.
pub(in crate::book) fn nearest<'a>(
    found: &str,
    known: impl Iterator<Item = &'a str>,
) -> Option<&'a str> {
    let plain = |text: &str| {
        text.chars()
            .filter(|c| c.is_alphanumeric())
            .flat_map(char::to_lowercase)
            .collect::<String>()
    };
    let wanted = plain(&shown(found));
    let distance = |name: &str| {
        let name = plain(name);
        let begins = wanted.len() >= 4 && name.starts_with(&wanted);
        if begins { 1 } else { strsim::osa_distance(&wanted, &name) }
    };
    let allowed = if wanted.chars().count() < 7 { 1 } else { 2 };
    known
        .map(|name| (distance(name), name))
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::csv::table::read_table;
    use crate::book::csv::text::OF_SHEETS;

    const LAYOUT: &[Column] = &[
        Column::new("trial", "T1", "").required(),
        Column::new("spine_mm", "8.1", "").required(),
        Column::new("note", "x", ""),
    ];

    fn matched(text: &str) -> (Option<usize>, Vec<String>, Vec<Notice>) {
        let table = read_table(text.as_bytes(), "x.csv", OF_SHEETS).unwrap();
        let mut messages = Messages::default();
        let map = match_columns(&table, LAYOUT, &mut messages);
        let faults = messages.faults.listed().iter().map(|fault| fault.to_string()).collect();
        (map.index("trial"), faults, messages.notices)
    }

    #[test]
    fn columns_come_in_any_order_and_case() {
        let (at, faults, notices) = matched("Spine_MM , TRIAL\n1,2\n");
        assert_eq!(at, Some(1));
        assert!(faults.is_empty() && notices.is_empty());
    }

    #[test]
    fn a_heading_is_known_however_its_unit_is_written() {
        for spine in ["Spine (mm)", "spine mm", "SPINE-MM", "spine [mm]", "Spine, millimetres"] {
            let (at, faults, notices) = matched(&format!("\"{spine}\",trial\n1,2\n"));
            assert_eq!((at, faults.len(), notices.len()), (Some(1), 0, 0), "{spine}: {faults:?}");
        }
        assert_eq!(folded("Grammage (g/m\u{b2})"), folded("grammage_gsm"));
        assert_eq!(folded("Low %"), folded("low_percent"));
        for spine in ["spine (in)", "Spine inches", "spine_thou", "spine \"\""] {
            let (_, faults, _) = matched(&format!("\"{spine}\",trial\n1,2\n"));
            assert!(faults[0].contains("is not in mm; call it spine_mm"), "{spine}: {faults:?}");
        }
    }

    #[test]
    fn a_slip_in_a_name_gets_a_suggestion() {
        let (_, faults, _) = matched("trail,spine\n1,2\n");
        assert_eq!(faults[0], "x.csv:1: column 'trail' is not known; is it 'trial'?");
        assert_eq!(faults[1], "x.csv:1: column 'spine' is not known; is it 'spine_mm'?");
        assert!(
            faults[2].contains("no column trial, spine_mm; the columns are trial,spine_mm,note")
        );
    }

    #[test]
    fn a_column_of_the_binders_own_is_not_read() {
        let (_, faults, notices) = matched("trial,spine_mm,price\n1,2,3\n");
        assert!(faults.is_empty());
        assert_eq!(notices.len(), 1);
    }

    #[test]
    fn a_column_twice_or_without_name_is_a_fault() {
        assert!(matched("trial,spine_mm,Trial\n").1[0].contains("twice"));
        assert!(matched("trial,spine_mm,\n1,2,\n").1.is_empty());
        assert!(
            matched("trial,spine_mm,\n1,2,3\n").1[0].starts_with("x.csv:2: '3' is in column 3")
        );
    }
}
