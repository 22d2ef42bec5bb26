//! Facts that several rows, and perhaps the book, give about one thing. They must agree.

use super::flat::Sheet;
use super::remedy::correct_value;
use crate::book::check::faults::Faults;
use crate::book::csv::cells::{Faulted, Given};
use crate::book::csv::columns::Column;
use crate::book::csv::kinds::{CellValue, Value};
use crate::book::csv::tail::shown;
use crate::book::entries::held::{EntryKind, Named};
use crate::book::entries::table::{Hearing, Record, Row};
use crate::book::entries::trial::TrialRow;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::book::opened::Book;
use crate::trade::Name;
use crate::units::{LengthUnit, quoted};
use std::collections::{HashMap, HashSet};

/// Where a fact was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    Book,
    Row(usize),
}

/// Where the value of one column came from.
#[derive(Clone, Copy, Debug, Default)]
struct Source {
    by: Option<By>,
    faulted: bool,
}

/// The facts that the book and the rows give about a paper, a thread or a trial.
#[derive(Clone, Debug)]
pub(super) struct Facts<T: Record> {
    name: Name,
    first_row: usize,
    pub(super) said: T::Row,
    sources: Vec<Source>,
    in_book: Option<T>,
}

/// The row that gives the facts, and where faults and notices go.
pub(super) struct Saying<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) row: usize,
    pub(super) faults: &'a mut Faults,
    pub(super) notices: &'a mut Vec<Notice>,
    pub(super) called: &'a Called<'a>,
}

/// What the book calls its entries.
pub(super) struct Called<'b> {
    /// Their present names, by what they were called before.
    pub(super) now: HashMap<(EntryKind, &'b str), &'b Name>,
    /// The names of its papers and threads.
    stock: HashSet<(EntryKind, &'b str)>,
}

impl<'b> Called<'b> {
    pub(super) fn of(book: &'b Book) -> Self {
        let kinds = [EntryKind::Paper, EntryKind::Thread, EntryKind::Trial].into_iter();
        let of = |kind| book.called_now(kind).into_iter().map(move |(old, now)| ((kind, old), now));
        let papers = book.papers().iter().map(|paper| (EntryKind::Paper, paper.name.as_str()));
        let threads = book.threads().iter().map(|it| (EntryKind::Thread, it.name.as_str()));
        Self { now: kinds.flat_map(of).collect(), stock: papers.chain(threads).collect() }
    }
}

/// Says that a sheet has the old name of an entry.
pub(super) fn called_now(kind: EntryKind, before: &str, now: &Name) -> String {
    format!("{kind} '{before}' is '{now}' in this book now; change its name in the sheet")
}

impl Saying<'_> {
    fn fault(&mut self, row: usize, column: &Column, message: String) {
        self.faults.add(Location::cell(&self.sheet.source, row, column.name), message);
    }
}

impl<T: Record + Named + Clone> Facts<T> {
    /// The facts in the book, or for something new `named`, which has only its name.
    pub(super) fn new(name: &Name, first_row: usize, known: Option<&T>, named: T::Row) -> Self {
        let said = known.map_or(named, T::Row::of);
        let by_book = |value: &Value<'_>| known.is_some() && *value != Value::Empty;
        let source =
            |value| Source { by: by_book(&value).then_some(By::Book), ..Source::default() };
        let sources = said.values().into_iter().map(source).collect();
        Self { name: name.clone(), first_row, said, sources, in_book: known.cloned() }
    }

    /// Takes in the facts of a row.
    pub(super) fn say(&mut self, cells: &T::Row, saying: &mut Saying<'_>) {
        let (name, sources, is_known) = (&self.name, &mut self.sources, self.in_book.is_some());
        let (kind, columns) = (T::KIND, T::Row::COLUMNS);
        self.said.hear(cells, &mut Listener { kind, name, columns, is_known, sources, saying });
    }

    /// The entry, and whether it is new. If a new entry lacks a required value, its first row gets
    /// a fault, unless a faulty cell already explains the lack.
    pub(super) fn made(&self, saying: &mut Saying<'_>) -> Result<(T, bool), Faulted> {
        if let Some(entry) = &self.in_book {
            return Ok((entry.clone(), false));
        }
        let parts = self.said.clone().complete(|at, is_said| {
            let (column, faulted) = (&T::Row::COLUMNS[at], self.sources[at].faulted);
            if !column.expected.is_empty() {
                if !is_said && !faulted {
                    let (kind, name, asked) = (T::KIND, &self.name, column.asked);
                    let message =
                        format!("{kind} '{name}' is new to the book and no row gives its {asked}");
                    saying.fault(self.first_row, column, message);
                }
                return if is_said { Ok(()) } else { Err(Faulted) };
            }
            if faulted { Err(Faulted) } else { Ok(()) }
        });
        let made = T::made_of(parts).map_err(|misfit| {
            let unit = saying.faults.unit();
            saying
                .faults
                .extend(misfit.fault(&saying.sheet.source, unit, |column| self.row_of(column)));
            Faulted
        })?;
        Ok((made, true))
    }

    /// The row that first gave a column, or else the first row.
    fn row_of(&self, column: &str) -> usize {
        let mut sources = T::Row::COLUMNS.iter().zip(&self.sources);
        match sources.find(|(known, _)| known.name == column) {
            Some((_, Source { by: Some(By::Row(row)), .. })) => *row,
            _ => self.first_row,
        }
    }
}

/// Compares what a row gives with what is known.
struct Listener<'a, 'b> {
    kind: EntryKind,
    name: &'a Name,
    columns: &'static [Column],
    is_known: bool,
    sources: &'a mut [Source],
    saying: &'a mut Saying<'b>,
}

impl Hearing for Listener<'_, '_> {
    /// A fault of the cell itself has been noted already.
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
                let sheet = self.saying.sheet;
                let place = Location::cell(&sheet.source, self.saying.row, column.name);
                let what = format!("no {} of {} '{}'", column.name, self.kind, self.name);
                let (name, value) = (self.name.as_str(), value.value());
                let way = Some(correct_value(sheet, self.kind, name, column, &value));
                self.saying.notices.push(Notice::NotAdded { place, what, more: 0, way });
            }
            return true;
        };
        if known == value {
            return false;
        }
        let unit = self.saying.faults.unit();
        let (here, there) = (with_unit(value, column, unit), with_unit(known, column, unit));
        if here != there {
            let says = match source.by {
                Some(By::Row(row)) => format!("row {row} says {there}"),
                Some(By::Book) | None => {
                    let remedy = self.remedy(column, &known.value(), &value.value());
                    format!("the book says {there}; {remedy}")
                }
            };
            let message = format!("{} '{}' has {here} here, but {says}", self.kind, self.name);
            self.saying.fault(self.saying.row, column, message);
        }
        false
    }
}

impl Listener<'_, '_> {
    /// What to do if the book has another value in a column.
    fn remedy(&self, column: &Column, known: &Value<'_>, given: &Value<'_>) -> String {
        let kind = match column.name {
            name if name == TrialRow::paper.name => EntryKind::Paper,
            name if name == TrialRow::thread.name => EntryKind::Thread,
            _ => self.kind,
        };
        let (sheet, called, name) = (self.saying.sheet, self.saying.called, shown(given));
        if let Some(now) = called.now.get(&(kind, &*name)).filter(|_| kind != self.kind) {
            return called_now(kind, &name, now);
        }
        let other = correct_value(sheet, self.kind, self.name.as_str(), column, given);
        if kind == self.kind || called.stock.contains(&(kind, &*name)) {
            return format!("if the book is wrong: {other}");
        }
        let (known, name) = (quoted(&shown(known)), quoted(&name));
        let renamed = sheet.command(&format!("correct {kind} {known} --name {name}"));
        let record = sheet.command(&format!("record {kind} {name}"));
        format!(
            "if that {kind} has a new name: {renamed}; if another {kind} was used, first: {record}; \
             then: {other}"
        )
    }
}

/// A value as messages show it. Values agree if these texts do. They are the texts of the files, so
/// a sheet in inches agrees with the book made from it.
fn with_unit(value: &impl CellValue, column: &Column, unit: LengthUnit) -> String {
    match value.value() {
        Value::Number(mm) if column.range.unit == "mm" && unit != LengthUnit::Millimetre => {
            unit.found(mm)
        }
        value => format!("{} {}", shown(&value), column.range.unit).trim_end().to_owned(),
    }
}
