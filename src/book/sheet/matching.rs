//! Finds which readings of a sheet the book has already.
//!
//! A sheet may have a million rows. So they stay as parsed cells and become readings one at a time.
//! Only new readings are kept.

use super::flat::Sheet;
use super::gone::struck_readings;
use super::matching_words::{Last, in_sheet_twice, lacking, moved, not_kept, other_there, struck};
use super::numbers::{Numbers, is_number};
use super::pile::Pile;
use super::row::SheetRow;
use crate::book::check::faults::Faults;
use crate::book::csv::tail::{Values, values};
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::book::opened::{Book, next_place};
use crate::trade::{Name, Reading, State};
use crate::units::LengthUnit;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// A row of the sheet with its reading.
struct Candidate {
    row: usize,
    reading: Reading,
}

/// The result of matching the readings.
#[derive(Debug, Default)]
pub(super) struct Matched {
    pub(super) new: Vec<Reading>,
    pub(super) already_there: usize,
    pub(super) faults: Faults,
    pub(super) notices: Vec<Notice>,
    /// The first note, the first day and the first place that known readings do not take over. Each
    /// counts the others.
    not_kept: [Option<Notice>; 3],
}

impl Matched {
    fn fault(&mut self, sheet: &Sheet, row: usize, message: String) {
        self.faults.add(Location::row(&sheet.source, row), message);
    }

    /// Counts a reading of the sheet that the book has.
    fn is_there(&mut self, sheet: &Sheet, candidate: &Candidate, there: &Reading) {
        self.already_there += 1;
        let reading = &candidate.reading;
        if reading.note.is_empty() && reading.taken.is_empty() {
            return;
        }
        let [note, day] = not_kept(sheet, candidate.row, reading, there);
        self.keep_first([note, day, None]);
    }

    /// Counts a reading of the sheet that the book has at another place.
    fn is_moved(&mut self, sheet: &Sheet, candidate: &Candidate, there: &Reading) {
        self.is_there(sheet, candidate, there);
        self.keep_first([None, None, Some(moved(sheet, candidate.row, &candidate.reading, there))]);
    }

    fn keep_first(&mut self, new: [Option<Notice>; 3]) {
        for (first, new) in self.not_kept.iter_mut().zip(new) {
            match (first.as_mut(), new) {
                (Some(Notice::NotAdded { more, .. }), Some(_)) => *more += 1,
                (None, Some(new)) => *first = Some(new),
                _ => {}
            }
        }
    }
}

/// The readings in the book of one trial in one state that are not matched with a row yet.
struct Held<'a> {
    live: Pile<'a>,
    struck: Pile<'a>,
    /// The readings whose places got other names, by the earlier ones.
    moved: HashMap<&'a Name, &'a Reading>,
    /// What is at the places of struck readings now, or was there last.
    last: HashMap<&'a Name, Last<'a>>,
    /// Places in use, in the book or by rows of the sheet that give theirs.
    places: BTreeSet<Name>,
    next: u32,
}

/// Matches the readings of `rows` of `sheet` with those of the book. Rows
/// without a reading are skipped.
pub(super) fn match_readings(book: &Book, sheet: &Sheet, rows: &[&SheetRow]) -> Matched {
    let unit = book.config().unit;
    let mut groups: BTreeMap<(&Name, State), Vec<&SheetRow>> = BTreeMap::new();
    for run in rows.chunk_by(|one, other| key(one) == key(other)) {
        if let Some(key) = key(run[0]) {
            groups.entry(key).or_default().extend(run);
        }
    }
    let (mut book, mut numbers) = (Shelf::of(book), Numbers::default());
    let mut matched = Matched { faults: Faults::in_unit(unit), ..Matched::default() };
    // Usually all of them are new. Growing the list step by step would take up to twice the memory.
    let mut new = Vec::with_capacity(rows.len());
    for ((name, state), group) in groups {
        let mut held = book.take(name, state);
        let candidates = |placed: bool| {
            let rows = group.iter().filter(move |row| row.is_placed() == placed);
            rows.filter_map(|row| Some(Candidate { row: row.number, reading: row.sound()? }))
        };
        // Rows with a place go first; what they leave in the book can match rows without one.
        let mut rest: Vec<Candidate> =
            candidates(true).filter(|it| !held.has(sheet, it, &mut matched)).collect();
        if held.is_numbered_otherwise(&rest) {
            for candidate in rest.extract_if(.., |it| is_number(&it.reading.place)) {
                new.extend(held.match_by_value(sheet, candidate, &mut numbers, &mut matched));
            }
        }
        rest.retain(|candidate| held.is_new(sheet, candidate, &mut matched));
        new.append(&mut rest);
        let before = new.len();
        for candidate in candidates(false) {
            new.extend(held.match_by_value(sheet, candidate, &mut numbers, &mut matched));
        }
        matched.notices.extend(held.lacking(sheet, &new[before..], unit));
    }
    new.sort_unstable_by_key(|candidate| (candidate.row, candidate.reading.state));
    matched.new = new.into_iter().map(|candidate| candidate.reading).collect();
    let not_kept = std::mem::take(&mut matched.not_kept);
    matched.notices.extend(not_kept.into_iter().flatten());
    matched
}

fn key(row: &SheetRow) -> Option<(&Name, State)> {
    Some((row.name.as_ref().ok()?, row.cells.as_ref().ok()?.state))
}

/// The readings of the book by trial and state.
struct Shelf<'a> {
    live: BTreeMap<(Name, State), Vec<&'a Reading>>,
    struck: BTreeMap<(Name, State), Vec<&'a Reading>>,
    moved: BTreeMap<(Name, State), HashMap<&'a Name, &'a Reading>>,
}

impl<'a> Shelf<'a> {
    fn of(book: &'a Book) -> Self {
        let mut shelf =
            Self { live: BTreeMap::new(), struck: BTreeMap::new(), moved: BTreeMap::new() };
        let key = |reading: &Reading| (reading.trial.clone(), reading.state);
        let of_one =
            |one: &Reading, other: &Reading| one.state == other.state && one.trial == other.trial;
        for run in book.readings().chunk_by(of_one) {
            shelf.live.entry(key(&run[0])).or_default().extend(run);
        }
        for (trial, reading) in struck_readings(book) {
            shelf.struck.entry((trial.clone(), reading.state)).or_default().push(reading);
        }
        for ((trial, state, before), now) in book.moved_readings() {
            shelf.moved.entry((trial.clone(), state)).or_default().insert(before, now);
        }
        shelf
    }

    /// Takes the readings of one trial in one state.
    fn take(&mut self, trial: &Name, state: State) -> Held<'a> {
        let key = (trial.clone(), state);
        let live = self.live.remove(&key).unwrap_or_default();
        let mut gone = self.struck.remove(&key).unwrap_or_default();
        let moved = self.moved.remove(&key).unwrap_or_default();
        let mut at = moved.clone();
        if !gone.is_empty() {
            at.extend(live.iter().map(|reading| (&reading.place, *reading)));
        }
        // Those that came back, perhaps under another place, are live.
        gone.retain(|it| at.get(&it.place).is_none_or(|live| values(live) != values(it)));
        let now = at.into_iter().map(|(place, live)| (place, Last::Live(live)));
        let last = gone.iter().map(|it| (&it.place, Last::Gone(it))).chain(now).collect();
        let places = live.iter().map(|reading| reading.place.clone()).collect();
        let next = next_place(live.iter().copied());
        Held { live: Pile::of(live), struck: Pile::of(gone), moved, last, places, next }
    }
}

impl<'a> Held<'a> {
    /// Whether the book has the reading of a row at the place that the row gives.
    fn has(&mut self, sheet: &Sheet, candidate: &Candidate, matched: &mut Matched) -> bool {
        let reading = &candidate.reading;
        let there = self.live.take_at(&reading.place, Some(&values(reading)));
        there.inspect(|there| matched.is_there(sheet, candidate, there)).is_some()
    }

    /// Whether book and sheet have the same readings under other numbers, apart from what one of
    /// them has more. A place without a name gets the next free number, so the numbers depend on
    /// the order of imports.
    fn is_numbered_otherwise(&self, rows: &[Candidate]) -> bool {
        let rows = || rows.iter().map(|it| &it.reading).filter(|it| is_number(&it.place));
        if !rows().any(|reading| self.live.has_at(&reading.place)) {
            return false;
        }
        let mut held: BTreeMap<Values, usize> = BTreeMap::new();
        for reading in self.live.left().filter(|it| is_number(&it.place)) {
            *held.entry(values(reading)).or_default() += 1;
        }
        let (in_book, mut in_both) = (held.values().sum::<usize>(), 0);
        for reading in rows() {
            if let Some(left) = held.get_mut(&values(reading)).filter(|left| **left > 0) {
                *left -= 1;
                in_both += 1;
            }
        }
        in_both > 0 && (in_both == in_book || in_both == rows().count())
    }

    fn struck(&self, sheet: &Sheet, it: &Candidate, gone: &'a Reading, unit: LengthUnit) -> Notice {
        let last = self.last.get(&gone.place).copied().unwrap_or(Last::Gone(gone));
        struck(sheet, it.row, &it.reading, last, unit)
    }

    /// A notice if the sheet lacks readings of a state of which it has `new` ones. Some of these
    /// may correct them. A sheet that lacks more than it adds is probably about later readings.
    fn lacking(&self, sheet: &Sheet, new: &[Candidate], unit: LengthUnit) -> Option<Notice> {
        let first = new.first()?;
        let left: Vec<&Reading> = self.live.left().take(new.len() + 1).collect();
        let is_likely = !left.is_empty() && left.len() <= new.len();
        is_likely.then(|| lacking(sheet, first.row, &first.reading, &left, unit))
    }

    /// Whether a row that gives its place has a new reading.
    fn is_new(&mut self, sheet: &Sheet, candidate: &Candidate, matched: &mut Matched) -> bool {
        let (reading, unit) = (&candidate.reading, matched.faults.unit());
        let moved = self.moved.get(&reading.place).map(|now| &now.place);
        let alike = moved.and_then(|now| self.live.take_at(now, Some(&values(reading))));
        if let Some(there) = alike {
            matched.is_moved(sheet, candidate, there);
            return false;
        }
        if let Some(there) = self.live.take_at(moved.unwrap_or(&reading.place), None) {
            matched.fault(sheet, candidate.row, other_there(sheet, there, reading, unit));
            return false;
        }
        if let Some(gone) = self.struck.take_at(&reading.place, Some(&values(reading))) {
            matched.notices.push(self.struck(sheet, candidate, gone, unit));
            return false;
        }
        let is_free = self.places.insert(reading.place.clone());
        if !is_free {
            matched.fault(sheet, candidate.row, in_sheet_twice(reading));
        }
        is_free
    }

    /// Matches a row that does not give its place.
    fn match_by_value(
        &mut self,
        sheet: &Sheet,
        mut candidate: Candidate,
        numbers: &mut Numbers,
        matched: &mut Matched,
    ) -> Option<Candidate> {
        let wanted = values(&candidate.reading);
        if let Some(there) = self.live.take_with(&wanted) {
            matched.is_there(sheet, &candidate, there);
            return None;
        }
        if let Some(gone) = self.struck.take_with(&wanted) {
            let unit = matched.faults.unit();
            matched.notices.push(self.struck(sheet, &candidate, gone, unit));
            return None;
        }
        candidate.reading.place = self.free_place(numbers, &candidate.reading.place);
        Some(candidate)
    }

    /// The next number that is not a place yet. Each number is returned only once.
    fn free_place(&mut self, numbers: &mut Numbers, instead: &Name) -> Name {
        loop {
            let place = numbers.name(self.next, instead);
            self.next = self.next.wrapping_add(1);
            if !self.places.contains(&place) {
                return place;
            }
        }
    }
}
