//! Where and in which state to measure a block next, and what readings to expect.

use crate::book::{Book, entry_named};
use crate::jobs::fitted::Fitted;
use crate::model::mixed::Summary;
use crate::model::{Plan, Run};
use crate::trade::{Name, Paper, Place, Range, Reading, State, Thread, Trial, expected_thickness};

/// The usual places of a block (common practice, no source).
const USUAL: [&str; 3] = ["head", "middle", "tail"];
/// The states in which every block is measured, in order.
const WAY: [State; 2] = [State::Sewn, State::Knocked];

/// What the readings of a block are compared with.
#[derive(Clone, Debug, Default)]
pub(crate) struct Expected {
    /// The possible thickness of a block of this paper, thread and sewing, in mm; `None` if its
    /// paper or thread is struck.
    pub possible: Option<Range>,
    /// The swell in mm that the book predicts; `None` before sewing.
    pub swell: Option<Summary>,
}

pub(crate) fn expected(known: Fitted<'_>, trial: &Trial, state: State) -> Expected {
    let (paper, thread) = stock_of(known.book, trial);
    let possible =
        paper.zip(thread).map(|(paper, thread)| expected_thickness(trial.sewing, paper, thread));
    let plan = plan_of(known, trial, state);
    Expected { possible, swell: plan.map(|plan| known.bench.fit.predict(&plan).swell.summary()) }
}

/// The paper and the thread of a trial; `None` for one that is struck.
pub(crate) fn stock_of<'b>(
    book: &'b Book,
    trial: &Trial,
) -> (Option<&'b Paper>, Option<&'b Thread>) {
    let paper = entry_named(book.papers(), trial.paper.as_str());
    (paper, entry_named(book.threads(), trial.thread.as_str()))
}

/// A trial as a plan, as if it were not yet sewn.
fn plan_of(Fitted { bench, .. }: Fitted<'_>, trial: &Trial, state: State) -> Option<Plan> {
    let (paper, thread) = (bench.paper(&trial.paper)?, bench.thread(&trial.thread)?);
    let run = Run { paper, thread, sewing: trial.sewing, boned: trial.boned };
    let mut plan = Plan::new(vec![run], state).ok()?;
    plan.guards_mm = trial.guards.mm();
    let hand = trial.hand.as_ref().map_or("", Name::as_str);
    plan.hand = bench.observations.hands.iter().position(|known| known == hand);
    Some(plan)
}

pub(crate) fn readings_of<'b>(
    book: &'b Book,
    trial: &Name,
    state: State,
) -> impl Iterator<Item = &'b Reading> {
    book.readings().iter().filter(move |it| it.trial == *trial && it.state == state)
}

pub(crate) fn count(book: &Book, trial: &Name, state: State) -> usize {
    readings_of(book, trial, state).count()
}

/// The first state in which a trial is not measured yet; `None` once it was measured knocked down,
/// since no hammer is undone.
pub(crate) fn open_state(book: &Book, trial: &Name) -> Option<State> {
    let mut own = book.readings().iter().filter(|it| it.trial == *trial);
    if own.any(|it| it.state.is_knocked()) {
        return None;
    }
    WAY.into_iter().find(|state| count(book, trial, *state) == 0)
}

/// The next state in which to measure a trial; the last state if all are measured.
pub(crate) fn next_state(book: &Book, trial: &Name) -> State {
    open_state(book, trial).unwrap_or(WAY[WAY.len() - 1])
}

/// The next trial to measure: the newest one not measured in every state, else the newest.
pub(crate) fn next_trial(book: &Book) -> Option<&Trial> {
    let open = |trial: &&Trial| open_state(book, &trial.name).is_some();
    book.trials().iter().rev().find(open).or(book.trials().last())
}

/// Where to measure a trial in a state: where it was measured in another state, else the usual
/// places. If any of these is taken, the next free numbers.
pub(crate) fn places(book: &Book, trial: &Name, state: State) -> Vec<Place> {
    let of = |state: State| -> Vec<Place> {
        readings_of(book, trial, state).map(|reading| reading.place.clone()).collect()
    };
    let taken = of(state);
    let mut before = State::ALL.into_iter().filter(|other| *other != state).map(of);
    let before = before.rfind(|places| !places.is_empty());
    let usual = || USUAL.iter().filter_map(|place| place.parse().ok()).collect();
    let places: Vec<Place> = before.unwrap_or_else(usual);
    if places.iter().any(|place| taken.contains(place)) {
        return free_places(book, trial, state).take(USUAL.len()).collect();
    }
    places
}

/// Free numbered places, in order.
pub(crate) fn free_places(
    book: &Book,
    trial: &Name,
    state: State,
) -> impl Iterator<Item = Place> + use<> {
    (book.next_place(trial, state)..).filter_map(|number| number.to_string().parse().ok())
}

/// Parses places separated by commas or semicolons, each named once. The error says which word is
/// not a place, or is named twice.
pub(crate) fn named(text: &str) -> Result<Vec<Place>, String> {
    let mut places: Vec<Place> = Vec::new();
    for word in text.split([',', ';']).map(str::trim).filter(|word| !word.is_empty()) {
        let place: Place = word.parse().map_err(|why| format!("{why}"))?;
        if places.contains(&place) {
            return Err(format!("'{place}' is named twice"));
        }
        places.push(place);
    }
    if places.is_empty() { Err("name at least one place".to_owned()) } else { Ok(places) }
}
