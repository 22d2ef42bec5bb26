//! A trial with its readings in each state, and the swell that pressing or knocking took out.

use crate::book::Book;
use crate::jobs::entries::answer_log::{Measured, by_state};
use crate::trade::{Name, Reading, State, Thread, Trial};
use crate::units::fields_of;
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(crate) struct TakenOut {
    pub from: State,
    pub to: State,
    /// Swell before minus swell after, in mm; negative if it grew.
    pub swell_mm: f64,
    /// The swell before, in per cent of the fore-edge; `to_percent` is the swell after.
    pub from_percent: f64,
    pub to_percent: f64,
    /// `swell_mm` as a share of the thread's build-up: its laid diameter times the effective
    /// sections.
    pub thread_share: Option<f64>,
}

#[derive(Clone, Debug)]
pub(crate) struct HeldTrial<'b> {
    pub trial: &'b Trial,
    /// In the order of the work.
    pub states: Vec<Measured<'b>>,
    pub taken_out: Vec<TakenOut>,
}

fields_of! { HeldTrial<'_>, |it|
    let trial = it.trial;
    "trial": trial.name,
    "date": trial.date.map(|date| date.to_string()),
    "kind": trial.kind,
    "paper": trial.paper,
    "thread": trial.thread,
    "sections": trial.sewing.sections(),
    "sheets": trial.sewing.sheets(),
    "leaves": trial.sewing.leaves(),
    "on": trial.sewing.on(),
    "ends": trial.sewing.ends(),
    "first_ends": trial.sewing.first(),
    "last_ends": trial.sewing.last(),
    "boned": trial.boned,
    "guards_mm": trial.guards,
    "hand": trial.hand,
    "note": trial.note,
    "states": it.states,
    "taken_out": it.taken_out,
}

/// The trials of a book, newest first.
pub(crate) fn trials(book: &Book) -> Vec<HeldTrial<'_>> {
    held(book, &book.trials().iter().rev().collect::<Vec<_>>())
}

pub(crate) fn held<'b>(book: &'b Book, trials: &[&'b Trial]) -> Vec<HeldTrial<'b>> {
    let threads: BTreeMap<&Name, &Thread> =
        book.threads().iter().map(|thread| (&thread.name, thread)).collect();
    let mut own: BTreeMap<&Name, Vec<&Reading>> =
        trials.iter().map(|trial| (&trial.name, Vec::new())).collect();
    for reading in book.readings() {
        if let Some(own) = own.get_mut(&reading.trial) {
            own.push(reading);
        }
    }
    let of = |&trial: &&'b Trial| {
        let states = by_state(own.get(&trial.name).into_iter().flatten().copied());
        let thread = threads.get(&trial.thread);
        let build_up =
            thread.map(|thread| thread.diameter().mm() * trial.sewing.effective_sections());
        HeldTrial { trial, taken_out: taken_out(&states, build_up), states }
    };
    trials.iter().map(of).collect()
}

/// Compares each state with the nearest earlier one; both swells must be known.
fn taken_out(states: &[Measured<'_>], build_up: Option<f64>) -> Vec<TakenOut> {
    let known = |state: State| {
        let measured = states.iter().find(|measured| measured.state == state)?;
        Some((state, measured.swell()?, measured.percent()?))
    };
    let step = |measured: &Measured<'_>| {
        let (to, after, to_percent) = known(measured.state)?;
        let (from, before, from_percent) = before(to).iter().find_map(|state| known(*state))?;
        let swell_mm = before - after;
        let thread_share = build_up.map(|build_up| swell_mm / build_up);
        Some(TakenOut { from, to, swell_mm, from_percent, to_percent, thread_share })
    };
    states.iter().filter_map(step).collect()
}

/// The states in which a block may have been measured before this one, nearest first.
fn before(state: State) -> &'static [State] {
    match state {
        State::Unsewn | State::Sewn => &[],
        State::Pressed | State::Knocked => &[State::Sewn],
        State::KnockedPressed => &[State::Knocked, State::Pressed, State::Sewn],
    }
}
