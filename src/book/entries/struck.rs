//! Strikes, and which rows they strike.

use super::contents::Contents;
use super::differing::of_rows;
use super::held::{EntryKind, plain_id};
use super::latest::{Latest, OfId};
use super::record::{Located, Standing, place};
use super::table::{Record, Row};
use crate::book::check::faults::Faults;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;
use crate::trade::KeptForecast;
use std::collections::{BTreeMap, VecDeque};

/// The strikes of one id that are not matched yet, by their rows; the row of the last one that was
/// matched; and the index of the last of all.
#[derive(Default)]
struct Open {
    rows: VecDeque<Standing>,
    matched: Standing,
    last: usize,
}

/// The strikes that are not matched yet, by what they strike.
pub(super) struct Strikes<'c> {
    open: BTreeMap<(EntryKind, String), Open>,
    latest: Latest<'c>,
    unsure: Vec<Notice>,
}

/// What the strikes of an id say about a row with it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Said {
    Struck,
    /// It was recorded again after its strikes.
    Again,
    /// No strike has this id.
    Nothing,
}

impl<'c> Strikes<'c> {
    pub(super) fn of(contents: &'c Contents) -> Self {
        let mut open: BTreeMap<_, Open> = BTreeMap::new();
        for (at, strike) in contents.strikes.iter().enumerate() {
            let key = (strike.value.what, strike.value.id.clone());
            let of_id = open.entry(key).or_default();
            of_id.rows.push_back(strike.row);
            of_id.last = at;
        }
        Self { open, latest: Latest::of(contents), unsure: Vec::new() }
    }

    /// Uses up a strike of `id`, if there is one left.
    fn take(&mut self, kind: EntryKind, id: &str) -> Said {
        match self.open.get_mut(&(kind, id.to_owned())) {
            None => Said::Nothing,
            Some(open) => match open.rows.pop_front() {
                Some(row) => {
                    open.matched = row;
                    Said::Struck
                }
                None => Said::Again,
            },
        }
    }

    /// What is said about each of `ids`, in the order of the file.
    fn count(&mut self, kind: EntryKind, ids: &[String]) -> Vec<Said> {
        let mut said: Vec<Said> = ids.iter().map(|id| self.take(kind, id)).collect();
        // Ids of the other kinds are plain names, without escapes.
        let of_parts = matches!(kind, EntryKind::Reading | EntryKind::Forecast);
        let older = |id: &String| of_parts && id.contains('\\');
        for (said, id) in said.iter_mut().zip(ids).filter(|(_, id)| older(id)) {
            if *said != Said::Struck && self.take(kind, &plain_id(id)) == Said::Struck {
                *said = Said::Struck;
            }
        }
        said
    }

    fn has(&self, kind: EntryKind) -> bool {
        self.open.keys().any(|(struck, _)| *struck == kind)
    }

    /// Whether each of `rows` is struck; empty if no strike is of this kind.
    pub(super) fn strike<T: Record + PartialEq>(
        &mut self,
        kind: EntryKind,
        rows: &[Located<T>],
        id: impl Fn(&T) -> String,
    ) -> Vec<bool> {
        if !self.has(kind) {
            return Vec::new();
        }
        let ids: Vec<String> = rows.iter().map(|row| id(&row.value)).collect();
        let said = self.count(kind, &ids);
        let mut struck: Vec<bool> = said.iter().map(|said| *said == Said::Struck).collect();
        for (id, of_id) in several(&ids, &said) {
            let [gone @ .., live] = &of_id[..] else { continue };
            let differs = |row: &&usize| rows[**row].value != rows[*live].value;
            let is_counted = gone.iter().all(|row| struck[*row]);
            let Some(other) = gone.iter().rfind(differs).filter(|_| is_counted) else { continue };
            let strike = self.open.get(&(kind, id.to_owned())).map_or(0, |open| open.last);
            match self.latest.row(&OfId { file: T::Row::FILE, rows: &of_id, strike }) {
                Some(counts) => {
                    struck[*live] = true;
                    struck[counts] = false;
                }
                None => self.doubt(kind, id, &rows[*live], &rows[*other]),
            }
        }
        struck
    }

    /// Whether each forecast is struck; empty if none is. Several forecasts of one name count side
    /// by side, so their order tells which of them a strike means.
    pub(super) fn strike_forecasts(
        &mut self,
        rows: &[Located<KeptForecast>],
        ids: &[String],
    ) -> Vec<bool> {
        let kind = EntryKind::Forecast;
        if !self.has(kind) {
            return Vec::new();
        }
        let said = self.count(kind, ids);
        let struck: Vec<bool> = said.iter().map(|said| *said == Said::Struck).collect();
        let mut gone: BTreeMap<&str, usize> = BTreeMap::new();
        for (at, row) in rows.iter().enumerate().filter(|(at, _)| struck[*at]) {
            gone.insert(row.value.name.as_str(), at);
        }
        for (live, row) in rows.iter().enumerate().filter(|(at, _)| !struck[*at]) {
            let Some(other) = gone.get(row.value.name.as_str()).map(|at| &rows[*at]) else {
                continue;
            };
            let is_sure = || self.latest.is_as_added(BookFile::Forecasts, live);
            if row.row.is_some() && row.value != other.value && !is_sure() {
                self.doubt(kind, &ids[live], row, other);
            }
        }
        struck
    }

    /// Notes that the wrong one of two rows may count. One notice for each file is enough.
    fn doubt<T: Record>(
        &mut self,
        kind: EntryKind,
        id: &str,
        live: &Located<T>,
        gone: &Located<T>,
    ) {
        let file = T::Row::FILE;
        let is_of_file = |notice: &&mut Notice| *notice.place().file == *file.name();
        if let Some(Notice::Unsure { more, .. }) = self.unsure.iter_mut().find(is_of_file) {
            *more += 1;
            return;
        }
        let Some(difference) = of_rows(&gone.value, &live.value).into_iter().next() else { return };
        self.unsure.push(Notice::Unsure {
            place: place(file, live.row),
            what: format!("{kind} '{}'", plain_id(id)),
            column: difference.column,
            values: [difference.is, difference.was],
            other: gone.row.map_or(0, |row| row.get() as usize),
            more: 0,
        });
    }

    /// The faults of strikes that match nothing, and the rows that may be struck by mistake.
    pub(super) fn left(self) -> (Faults, Vec<Notice>) {
        let mut faults = Faults::default();
        for ((kind, id), Open { rows, matched, .. }) in self.open {
            for row in rows {
                let message = || match matched {
                    Some(before) => {
                        format!("{kind} '{id}' is already struck in row {before}; remove this row")
                    }
                    None => format!("there is no {kind} '{id}' to strike"),
                };
                faults.push_with(place(BookFile::Struck, row), message);
            }
        }
        (faults, self.unsure)
    }
}

/// The rows of each id that was struck and recorded again, by their index.
fn several<'i>(ids: &'i [String], said: &[Said]) -> BTreeMap<&'i str, Vec<usize>> {
    let of = |wanted: Said| {
        let rows = ids.iter().zip(said).enumerate();
        rows.filter_map(move |(at, (id, said))| (*said == wanted).then_some((at, id.as_str())))
    };
    let mut several: BTreeMap<&str, Vec<usize>> =
        of(Said::Again).map(|(_, id)| (id, Vec::new())).collect();
    if several.is_empty() {
        return several;
    }
    for wanted in [Said::Struck, Said::Again] {
        for (at, id) in of(wanted) {
            if let Some(rows) = several.get_mut(id) {
                rows.push(at);
            }
        }
    }
    several
}
