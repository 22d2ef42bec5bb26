//! Completes readings of the book that lack an edge: measured later, at the same places.

use super::answer_measure::{named, readings_of};
use super::answer_steps::joined;
use crate::book::{Book, BookError, EntryKind, Strike, reading_id};
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::session::{Session, quoted};
use crate::trade::{Edge, Place, Reading, State, Trial};
use crate::units::Millimetres;
use std::borrow::Cow;

/// More readings without an edge than this were not left half-way, but measured at one edge on
/// purpose. Nobody measures more places along one block.
const MOST: usize = 12;

/// Places to measure, and the readings that the book has at them. Those lack an edge.
#[derive(Clone, Debug, Default)]
pub(crate) struct Open {
    pub places: Vec<Place>,
    pub readings: Vec<Reading>,
}

impl Open {
    /// The places of `--place`; refuses any that is already measured at both edges in this state.
    pub fn named(text: &str, book: &Book, trial: &Trial, state: State) -> Result<Self, CliError> {
        let places = by_flag("--place", text, named)?;
        let here = |reading: &&Reading| places.contains(&reading.place);
        let readings: Vec<Reading> =
            readings_of(book, &trial.name, state).filter(here).cloned().collect();
        match readings.iter().find(|reading| lacks(reading).is_none()) {
            Some(whole) => Err(held(whole)),
            None => Ok(Self { places, readings }),
        }
    }

    /// The places where an edge is still to be measured, if it is the same edge at all of them.
    pub fn of(book: &Book, trial: &Trial, state: State) -> Option<Self> {
        let lacking = readings_of(book, &trial.name, state).filter(|it| lacks(it).is_some());
        let readings: Vec<Reading> = lacking.take(MOST + 1).cloned().collect();
        if readings.len() > MOST {
            return None;
        }
        let places = readings.iter().map(|reading| reading.place.clone()).collect();
        let open = Self { places, readings };
        open.edge().filter(|_| state.has_thread())?;
        Some(open)
    }

    /// The edge that all the readings lack; `None` if there are none, or if they lack different
    /// ones.
    pub fn edge(&self) -> Option<Edge> {
        let first = lacks(self.readings.first()?)?;
        self.readings.iter().all(|reading| lacks(reading) == Some(first)).then_some(first)
    }

    pub fn at(&self, place: &Place) -> Option<&Reading> {
        self.readings.iter().find(|reading| reading.place == *place)
    }

    /// Gives a completed reading the day and the note that the book has for it.
    pub fn keep_words(&self, reading: &mut Reading) {
        if let Some(old) = self.at(&reading.place) {
            reading.taken = old.taken.clone();
            reading.note = joined([&*old.note, &*reading.note]).into();
        }
    }

    /// Both edges at a place: those given, and those that the book has. Refuses an edge that the
    /// book has already.
    pub fn edges(
        &self,
        place: &Place,
        given: [Option<Millimetres>; 2],
    ) -> Result<[Option<Millimetres>; 2], CliError> {
        let Some(old) = self.at(place) else { return Ok(given) };
        let [spine, fore_edge] = Edge::ALL.map(|edge| match given[edge as usize] {
            Some(_) if old.edge(edge).is_some() => Err(held(old)),
            given => Ok(given.or(old.edge(edge))),
        });
        Ok([spine?, fore_edge?])
    }

    /// The book without the readings that are being completed.
    pub fn without<'b>(&self, book: &'b Book, session: &Session<'_>) -> Cow<'b, Book> {
        match &self.strikes(&self.readings, session)[..] {
            [] => Cow::Borrowed(book),
            strikes => Cow::Owned(book.without(strikes)),
        }
    }

    /// Strikes of the old readings in whose place the book gets `new` ones.
    pub fn strikes(&self, new: &[Reading], session: &Session<'_>) -> Vec<Strike> {
        let replaced =
            self.readings.iter().filter(|old| new.iter().any(|it| it.place == old.place));
        let (reason, date) = ("completed", session.today());
        let strike = |old: &Reading| Strike {
            what: EntryKind::Reading,
            id: reading_id(old),
            reason: reason.to_owned(),
            date,
        };
        replaced.map(strike).collect()
    }

    /// Refuses to complete a reading that is not in the book `now` as it was.
    pub fn check(&self, now: &Book) -> Result<(), BookError> {
        match self.readings.iter().find(|old| !now.readings().contains(old)) {
            Some(old) => Err(BookError::Clash(format!(
                "reading '{}' was corrected or struck meanwhile; look at it again",
                reading_id(old)
            ))),
            None => Ok(()),
        }
    }
}

fn lacks(reading: &Reading) -> Option<Edge> {
    Edge::ALL.into_iter().find(|edge| reading.edge(*edge).is_none())
}

fn held(reading: &Reading) -> CliError {
    let Reading { trial, state, place, .. } = reading;
    let id = quoted(&reading_id(reading));
    let message = format!(
        "{trial}, {state}, already holds a reading at '{place}'; to change it: swellbook correct \
         reading {id}"
    );
    CliError::value("--place", message)
}
