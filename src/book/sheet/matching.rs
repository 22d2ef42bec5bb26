//! Finds which readings of a sheet the book has already.
//!
//! A sheet may have a million rows. So they stay as parsed cells and become readings one at a time.
//! Only new readings are kept.

use super::row::SheetRow;
use crate::book::check::faults::Faults;
use crate::book::csv::tail::{Values, decimal, values};
use crate::book::entries::held::reading_id;
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::book::opened::{Book, next_place};
use crate::trade::{Name, Reading, State};
use crate::units::{LengthUnit, Millimetres};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

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
}

/// The readings in the book of one trial in one state that are not matched with a row yet.
struct Held<'a> {
    live: Pile<'a>,
    struck: Pile<'a>,
    /// Places in use, in the book or by rows of the sheet that give theirs.
    places: BTreeSet<Name>,
    next: u32,
}

/// Readings in the order of the book, indexed by place and by value.
struct Pile<'a> {
    readings: Vec<Option<&'a Reading>>,
    by_place: BTreeMap<&'a Name, BTreeMap<Values, VecDeque<usize>>>,
    by_values: BTreeMap<Values, VecDeque<usize>>,
}

impl<'a> Pile<'a> {
    fn of(readings: Vec<&'a Reading>) -> Self {
        let mut pile =
            Self { readings: Vec::new(), by_place: BTreeMap::new(), by_values: BTreeMap::new() };
        for (index, reading) in readings.into_iter().enumerate() {
            let at_place = pile.by_place.entry(&reading.place).or_default();
            at_place.entry(values(reading)).or_default().push_back(index);
            pile.by_values.entry(values(reading)).or_default().push_back(index);
            pile.readings.push(Some(reading));
        }
        pile
    }

    /// Takes the first reading at `place`, with these values if they are given.
    fn take_at(&mut self, place: &Name, values: Option<&Values>) -> Option<&'a Reading> {
        let here = self.by_place.get_mut(place)?;
        let alike = match values {
            Some(values) => here.get_mut(values)?,
            None => here.values_mut().next()?,
        };
        first_left(alike, &mut self.readings)
    }

    /// Takes the first reading with these values.
    fn take_with(&mut self, values: &Values) -> Option<&'a Reading> {
        first_left(self.by_values.get_mut(values)?, &mut self.readings)
    }
}

/// Takes the first of `readings` that `indices` name and that is not taken yet.
fn first_left<'a>(
    indices: &mut VecDeque<usize>,
    readings: &mut [Option<&'a Reading>],
) -> Option<&'a Reading> {
    std::iter::from_fn(|| indices.pop_front()).find_map(|index| readings[index].take())
}

/// Matches the readings of `rows`, from a sheet called `source`, with those of the book. Rows
/// without a reading are skipped.
pub(super) fn match_readings(book: &Book, source: &str, rows: &[&SheetRow]) -> Matched {
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
        for candidate in candidates(true) {
            new.extend(held.match_placed(source, candidate, &mut matched));
        }
        for candidate in candidates(false) {
            new.extend(held.match_by_value(source, candidate, &mut numbers, &mut matched));
        }
    }
    new.sort_unstable_by_key(|candidate| (candidate.row, candidate.reading.state));
    matched.new = new.into_iter().map(|candidate| candidate.reading).collect();
    matched
}

/// The trial and state of a row.
fn key(row: &SheetRow) -> Option<(&Name, State)> {
    Some((row.name.as_ref().ok()?, row.cells.as_ref().ok()?.state))
}

/// Numbers from 1 on as names of places. Every trial has the first few, and clones of a name share
/// one string.
#[derive(Default)]
struct Numbers {
    low: Vec<Name>,
}

impl Numbers {
    const MOST: u32 = 1024;

    /// A number as a name. (Every number is a valid name, so `instead` is never used.)
    fn name(&mut self, number: u32, instead: &Name) -> Name {
        let parsed = |number: u32| number.to_string().parse().unwrap_or_else(|_| instead.clone());
        if number == 0 || number > Self::MOST {
            return parsed(number);
        }
        while self.low.len() < number as usize {
            self.low.push(parsed(self.low.len() as u32 + 1));
        }
        self.low[number as usize - 1].clone()
    }
}

/// The readings of the book by trial and state.
struct Shelf<'a> {
    live: BTreeMap<(Name, State), Vec<&'a Reading>>,
    struck: BTreeMap<(Name, State), Vec<&'a Reading>>,
}

impl<'a> Shelf<'a> {
    fn of(book: &'a Book) -> Self {
        let mut shelf = Self { live: BTreeMap::new(), struck: BTreeMap::new() };
        let key = |reading: &Reading| (reading.trial.clone(), reading.state);
        let of_one =
            |one: &Reading, other: &Reading| one.state == other.state && one.trial == other.trial;
        for run in book.readings().chunk_by(of_one) {
            shelf.live.entry(key(&run[0])).or_default().extend(run);
        }
        // A reading struck with its whole trial does not block a new trial of the same name.
        let trials: BTreeSet<&Name> = book.trials().iter().map(|trial| &trial.name).collect();
        let gone = book.gone.readings.iter().map(|row| &row.value);
        for reading in gone.filter(|reading| trials.contains(&reading.trial)) {
            shelf.struck.entry(key(reading)).or_default().push(reading);
        }
        shelf
    }

    /// Takes the readings of one trial in one state.
    fn take(&mut self, trial: &Name, state: State) -> Held<'a> {
        let key = (trial.clone(), state);
        let live = self.live.remove(&key).unwrap_or_default();
        let struck = self.struck.remove(&key).unwrap_or_default();
        let places = live.iter().map(|reading| reading.place.clone()).collect();
        let next = next_place(live.iter().copied());
        Held { live: Pile::of(live), struck: Pile::of(struck), places, next }
    }
}

impl Held<'_> {
    /// Matches a row that gives its place.
    fn match_placed(
        &mut self,
        source: &str,
        candidate: Candidate,
        matched: &mut Matched,
    ) -> Option<Candidate> {
        let reading = &candidate.reading;
        if let Some(there) = self.live.take_at(&reading.place, None) {
            if values(there) == values(reading) {
                matched.already_there += 1;
            } else {
                let unit = matched.faults.unit();
                let message = format!(
                    "the book has {} with spine {} and fore-edge {}, not {} and {}; if this is another block, give it a trial name of its own in the sheet; if the book is wrong, strike it first",
                    reading_id(there),
                    shown(there.spine(), unit),
                    shown(there.fore_edge(), unit),
                    shown(reading.spine(), unit),
                    shown(reading.fore_edge(), unit)
                );
                matched.faults.push(Fault::new(Location::row(source, candidate.row), message));
            }
            return None;
        }
        if self.struck.take_at(&reading.place, Some(&values(reading))).is_some() {
            matched.notices.push(struck(source, &candidate, matched.faults.unit()));
            return None;
        }
        if !self.places.insert(reading.place.clone()) {
            let message = format!("reading {} is in the sheet twice", reading_id(reading));
            matched.faults.push(Fault::new(Location::row(source, candidate.row), message));
            return None;
        }
        Some(candidate)
    }

    /// Matches a row that does not give its place.
    fn match_by_value(
        &mut self,
        source: &str,
        mut candidate: Candidate,
        numbers: &mut Numbers,
        matched: &mut Matched,
    ) -> Option<Candidate> {
        let wanted = values(&candidate.reading);
        if self.live.take_with(&wanted).is_some() {
            matched.already_there += 1;
            return None;
        }
        if self.struck.take_with(&wanted).is_some() {
            matched.notices.push(struck(source, &candidate, matched.faults.unit()));
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

/// A length as messages in `unit` show it.
fn shown(length: Option<Millimetres>, unit: LengthUnit) -> String {
    match (length.map(Millimetres::mm), unit) {
        (None, _) => "nothing".to_owned(),
        (Some(mm), LengthUnit::Millimetre) => format!("{} mm", decimal(mm, false)),
        (Some(mm), _) => unit.found(mm),
    }
}

fn struck(source: &str, candidate: &Candidate, unit: LengthUnit) -> Notice {
    let reading = &candidate.reading;
    let what = format!(
        "a reading of {} {} with spine {} and fore-edge {}",
        reading.trial,
        reading.state.phrase(),
        shown(reading.spine(), unit),
        shown(reading.fore_edge(), unit)
    );
    Notice::Struck { place: Location::row(source, candidate.row), what }
}
