//! Maps the headings of a sheet to columns: by the name of a column in any spelling, or by what the
//! binder said about a heading.

use super::layout::{SheetOptions, layout, sheet_columns};
use super::own_heading::{Named, key, unknown_column};
use super::states;
use crate::book::check::faults::Messages;
use crate::book::csv::columns::{Column, folded, nearest};
use crate::book::csv::notes::note;
use crate::book::csv::table::{Table, read_sheet_table};
use crate::book::entries::held::OwnHeading;
use crate::book::entries::reading::ReadingRow;
use crate::book::error::{BookError, Fault};
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::units::{LengthUnit, listed, shown};
use std::collections::BTreeMap;

/// Whether a text has a header with a trial and a thickness in it.
pub(super) fn fits(bytes: &[u8], options: &SheetOptions) -> bool {
    let Ok(mut table) = read_sheet_table(bytes, "") else { return false };
    let (placed, _) = placed(&mut table, options, &mut |_| ());
    let has = |is: &dyn Fn(&str) -> bool| placed.iter().any(|one| is(one.named.column));
    has(&|name| name == ReadingRow::trial.name)
        && has(&|name| name == ReadingRow::spine.name || states::is_of_state(name))
}

/// The meaning of a sheet's header.
#[derive(Clone, Debug)]
pub(super) struct Headings {
    /// The columns that the sheet may have.
    pub(super) layout: &'static [Column],
    /// The columns of single states that the sheet has.
    pub(super) states: Vec<states::OfState>,
    /// The sheet's own names of columns, where they differ.
    labels: BTreeMap<&'static str, String>,
    /// Headings of the binder's own that are not kept in the book yet.
    pub(super) own: Vec<OwnHeading>,
    unknown: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownHeading {
    /// As it is written.
    pub heading: String,
    pub guess: Option<&'static str>,
}

impl UnknownHeading {
    /// The guess if it is the heading, only with a unit. Any other may be quite another word:
    /// 'Plate' looks like place.
    pub fn sure(&self) -> Option<&'static str> {
        let is_it = |name: &str| {
            let stem = name.rsplit_once('_').map(|(stem, _)| stem);
            stem.is_some_and(|stem| folded(stem) == folded(&self.heading))
        };
        self.guess.filter(|name| is_it(name))
    }
}

/// The headings of unknown meaning in the sheet in `bytes`, to ask about them. It includes only
/// headings that may be written into a file of the book.
///
/// # Errors
/// [`BookError::Faults`] if it is not a table.
pub fn unknown_headings(
    bytes: &[u8],
    source_name: &str,
    options: &SheetOptions,
) -> Result<Vec<UnknownHeading>, BookError> {
    let mut table = read_sheet_table(bytes, source_name)?;
    let (placed, unknown) = placed(&mut table, options, &mut |_| ());
    let free = |name: &&str| placed.iter().all(|one| one.named.column != *name);
    let guess = |heading: &str| {
        nearest(heading, sheet_columns().iter().map(|column| column.name).filter(free))
    };
    let unknown = unknown.into_iter().filter(|heading| note(heading).is_ok());
    Ok(unknown.map(|heading| UnknownHeading { guess: guess(&heading), heading }).collect())
}

struct Placed {
    index: usize,
    named: Named,
    written: String,
}

impl Headings {
    /// Reads the header of `table`, and replaces its headings by the names of their columns.
    pub(super) fn of(
        table: &mut Table<'_>,
        options: &SheetOptions,
        Messages { faults, notices }: &mut Messages,
    ) -> Result<Self, BookError> {
        let place = Location::row(table.file, table.header_row);
        let mut fault = |message| faults.add(place.clone(), message);
        let (placed, unknown) = placed(table, options, &mut fault);
        let is_here =
            |own: &&OwnHeading| table.header.iter().any(|it| key(it) == key(&own.heading));
        for own in options.said.iter().filter(|own| !is_here(own)) {
            let found = shown(&own.heading);
            fault(format!("no column '{found}'; write the heading as it is in the sheet"));
        }
        check_places(&placed, &mut fault);
        faults.clone().refuse()?;
        let labels = labels(&placed, options.is_workbook);
        let columns = read_as(&placed);
        notices.extend((!columns.is_empty()).then_some(Notice::ReadColumns { place, columns }));
        for one in &placed {
            table.header[one.index] = one.named.column.to_owned();
        }
        let in_units = placed.iter().filter(|one| one.named.unit != LengthUnit::Millimetre);
        table.units = in_units.map(|one| (one.index, one.named.unit)).collect();
        let has = |column: &Column| placed.iter().any(|one| one.named.column == column.name);
        let states = states::OF_STATES.into_iter();
        let states: Vec<_> = states.filter(|of| has(&of.spine) || has(&of.fore_edge)).collect();
        let (layout, own) = (layout(!states.is_empty()), new_of(options));
        Ok(Self { layout, states, labels, own, unknown })
    }

    /// The fault that says what to do about the unknown headings of `table`.
    pub(super) fn unknown(&self, table: &Table<'_>) -> Option<Fault> {
        const LISTED: usize = 8;
        let each = self.unknown.iter().map(|heading| format!("'{}'", shown(heading)));
        let each = listed(&each.collect::<Vec<_>>(), LISTED);
        let message = format!(
            "not known: {each}; say once which columns they are, each as --heading 'HEADING=COLUMN', or \
             'HEADING=' to leave one out"
        );
        let message = (!self.unknown.is_empty()).then_some(message)?;
        Some(Fault::new(Location::row(table.file, table.header_row), message))
    }

    /// Puts the sheet's own name of the column into a notice about a cell.
    pub(super) fn put_note(&self, note: &mut Notice) {
        if let Notice::ReadAs { place, .. } | Notice::NotAdded { place, .. } = note {
            self.put(place);
        }
    }

    /// Puts the sheet's own name of the column into the location of a fault.
    pub(super) fn put(&self, place: &mut Location) {
        let label = place.column.as_deref().and_then(|column| self.labels.get(column));
        if let Some(label) = label {
            place.column = Some(label.clone());
        }
    }
}

/// The headings that name columns, and those of unknown meaning. Columns to leave out are noted in
/// the table.
fn placed(
    table: &mut Table<'_>,
    options: &SheetOptions,
    fault: &mut impl FnMut(String),
) -> (Vec<Placed>, Vec<String>) {
    let (mut placed, mut unknown) = (Vec::new(), Vec::new());
    for (index, heading) in table.header.iter().enumerate() {
        let said = options.kept.iter().chain(&options.said);
        let own = said.rev().find(|own| key(&own.heading) == key(heading));
        let own = own.filter(|own| !own.is_forgotten());
        let named = match own {
            Some(own) if own.column.is_empty() => {
                table.left_out.push(index);
                continue;
            }
            Some(own) => Named::of(&own.column),
            None => Named::of(heading),
        };
        match (named, own) {
            (Some(named), _) => placed.push(Placed { index, named, written: shown(heading) }),
            (None, Some(own)) => fault(format!(
                "{} says of '{}': {}",
                BookFile::Headings.name(),
                shown(heading),
                unknown_column(&own.column)
            )),
            (None, None) if heading.is_empty() => {}
            (None, None) => unknown.push(heading.clone()),
        }
    }
    (placed, unknown)
}

/// Refuses two headings for one column, and states given both in headings and in rows.
fn check_places(placed: &[Placed], fault: &mut impl FnMut(String)) {
    for (at, one) in placed.iter().enumerate() {
        let other = placed[..at].iter().find(|other| other.named.column == one.named.column);
        // If both are spelt alike, `match_columns` reports that the column appears twice.
        if let Some(other) = other.filter(|other| folded(&other.written) != folded(&one.written)) {
            fault(format!(
                "'{}' (column {}) and '{}' (column {}) are both {}; remove one, or say with --heading what it is",
                other.written,
                letters(other.index),
                one.written,
                letters(one.index),
                one.named.column
            ));
        }
    }
    let of_state = placed.iter().find(|one| states::is_of_state(one.named.column));
    let of_any = [ReadingRow::state, ReadingRow::spine, ReadingRow::fore_edge].map(|any| any.name);
    let any = placed.iter().find(|one| of_any.contains(&one.named.column));
    if let (Some(of_state), Some(any)) = (of_state, any) {
        fault(format!(
            "'{}' (column {}) is for one state, and '{}' (column {}) is for the state that each row names; give the states in the headings or in a column 'state', not both",
            of_state.written,
            letters(of_state.index),
            any.written,
            letters(any.index)
        ));
    }
}

/// The headings that differ from the name of their column, and what they are read as.
fn read_as(placed: &[Placed]) -> Vec<(String, String)> {
    let other = placed.iter().filter(|one| folded(&one.written) != folded(one.named.column));
    other.map(|one| (one.written.clone(), one.named.name())).collect()
}

/// The sheet's own names of its columns: the heading, and in a workbook the letters too.
fn labels(placed: &[Placed], is_workbook: bool) -> BTreeMap<&'static str, String> {
    let label = |one: &Placed| match is_workbook {
        true => format!("{} '{}'", letters(one.index), one.written),
        false => format!("'{}'", one.written),
    };
    let other = |one: &&Placed| is_workbook || folded(&one.written) != folded(one.named.column);
    placed.iter().filter(other).map(|one| (one.named.column, label(one))).collect()
}

/// The meanings that the binder gives now, except those that the book already keeps.
fn new_of(options: &SheetOptions) -> Vec<OwnHeading> {
    let kept = |own: &OwnHeading| {
        let kept = options.kept.iter().rev().find(|kept| key(&kept.heading) == key(&own.heading));
        kept.is_some_and(|kept| kept.column == own.column)
    };
    options.said.iter().filter(|own| !kept(own)).cloned().collect()
}

/// The letters of a column, as a spreadsheet shows them.
fn letters(index: usize) -> String {
    let letter = |number: usize| char::from(b'A' + (number % 26) as u8);
    match index / 26 {
        0 => letter(index).to_string(),
        above => letters(above - 1) + &letter(index).to_string(),
    }
}
