//! Facts said by several rows, and perhaps by the book: all must say the same.

use crate::book::check::faults::Faults;
use crate::book::csv::cells::{Faulted, Given};
use crate::book::csv::columns::Column;
use crate::book::csv::kinds::{CellValue, Value};
use crate::book::csv::tail::shown;
use crate::book::entries::table::{Hearing, Record, Row};
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::units::LengthUnit;

/// Where a fact was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    Book,
    Row(usize),
}

/// What is known of where one column was said.
#[derive(Clone, Copy, Debug, Default)]
struct Source {
    by: Option<By>,
    faulted: bool,
}

/// A paper, a thread or a trial as book and rows describe it.
#[derive(Clone, Debug)]
pub(super) struct Facts<T: Record> {
    /// What it is, as messages say: `paper 'laid'`.
    what: String,
    first_row: usize,
    pub(super) said: T::Row,
    sources: Vec<Source>,
    in_book: Option<T>,
}

/// A row that says facts, and what comes of it.
pub(super) struct Saying<'a> {
    pub(super) source: &'a str,
    pub(super) row: usize,
    pub(super) faults: &'a mut Faults,
    pub(super) notices: &'a mut Vec<Notice>,
}

impl Saying<'_> {
    fn fault(&mut self, row: usize, column: &Column, message: String) {
        self.faults.push(Fault::new(Location::cell(self.source, row, column.name), message));
    }
}

impl<T: Record + Clone> Facts<T> {
    /// What the book says, or that of something new, which says no more than its name.
    pub(super) fn new(what: String, first_row: usize, known: Option<&T>, named: T::Row) -> Self {
        let said = known.map_or(named, T::Row::of);
        let by_book = |value: &Value<'_>| known.is_some() && *value != Value::Empty;
        let source =
            |value| Source { by: by_book(&value).then_some(By::Book), ..Source::default() };
        let sources = said.values().into_iter().map(source).collect();
        Self { what, first_row, said, sources, in_book: known.cloned() }
    }

    /// A row says what it is.
    pub(super) fn say(&mut self, cells: &T::Row, saying: &mut Saying<'_>) {
        let (what, sources) = (&self.what, &mut self.sources);
        let columns = T::Row::COLUMNS;
        let is_known = self.in_book.is_some();
        self.said.hear(cells, &mut Listener { what, columns, is_known, sources, saying });
    }

    /// The entry, and whether it is new. Without what is needed of something new there is a fault in
    /// its first row, unless a cell that should say it is at fault already.
    pub(super) fn made(&self, saying: &mut Saying<'_>) -> Result<(T, bool), Faulted> {
        if let Some(entry) = &self.in_book {
            return Ok((entry.clone(), false));
        }
        let parts = self.said.clone().complete(|at, is_said| {
            let (column, faulted) = (&T::Row::COLUMNS[at], self.sources[at].faulted);
            if !column.expected.is_empty() {
                if !is_said && !faulted {
                    let (what, asked) = (&self.what, column.asked);
                    let message = format!("{what} is new to the book and no row gives its {asked}");
                    saying.fault(self.first_row, column, message);
                }
                return if is_said { Ok(()) } else { Err(Faulted) };
            }
            if faulted { Err(Faulted) } else { Ok(()) }
        });
        let made = T::made_of(parts).map_err(|misfit| {
            let unit = saying.faults.unit();
            saying.faults.extend(misfit.fault(saying.source, unit, |column| self.row_of(column)));
            Faulted
        })?;
        Ok((made, true))
    }

    /// The row that said a column first, or else the first of all.
    fn row_of(&self, column: &str) -> usize {
        let mut sources = T::Row::COLUMNS.iter().zip(&self.sources);
        match sources.find(|(known, _)| known.name == column) {
            Some((_, Source { by: Some(By::Row(row)), .. })) => *row,
            _ => self.first_row,
        }
    }
}

/// Holds what a row says against what is known.
struct Listener<'a, 'b> {
    what: &'a str,
    columns: &'static [Column],
    is_known: bool,
    sources: &'a mut [Source],
    saying: &'a mut Saying<'b>,
}

impl Hearing for Listener<'_, '_> {
    /// What is at fault in the cell itself was noted when it was read.
    fn takes<T: CellValue>(&mut self, column: usize, known: &Given<T>, given: &Given<T>) -> bool {
        let (source, column) = (&mut self.sources[column], &self.columns[column]);
        let value = match given {
            Ok(None) => return false,
            Err(Faulted) => {
                source.faulted = true;
                return false;
            }
            Ok(Some(value)) => value,
        };
        let Ok(Some(known)) = known else {
            source.by = Some(By::Row(self.saying.row));
            if self.is_known {
                let place = Location::cell(self.saying.source, self.saying.row, column.name);
                let what = format!("{} of {}", column.name, self.what);
                self.saying.notices.push(Notice::NotAdded { place, what });
            }
            return true;
        };
        if known == value {
            return false;
        }
        let unit = self.saying.faults.unit();
        let (here, there) = (with_unit(value, column, unit), with_unit(known, column, unit));
        if here != there {
            let by = match source.by {
                Some(By::Row(row)) => format!("row {row}"),
                Some(By::Book) | None => "the book".to_owned(),
            };
            let message = format!("{} has {here} here, but {by} says {there}", self.what);
            self.saying.fault(self.saying.row, column, message);
        }
        false
    }
}

/// As a message shows a value, and as two rows must agree on it: as the files hold it, so that a
/// sheet in inches agrees with the book it made.
fn with_unit(value: &impl CellValue, column: &Column, unit: LengthUnit) -> String {
    match value.value() {
        Value::Number(mm) if column.range.unit == "mm" && unit != LengthUnit::Millimetre => {
            unit.found(mm)
        }
        value => format!("{} {}", shown(&value), column.range.unit).trim_end().to_owned(),
    }
}
