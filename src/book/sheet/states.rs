//! Columns of single states. A row then holds the readings of a place in several states, as they
//! are written down before and after knocking down.

use crate::book::csv::columns::Column;
use crate::book::entries::reading::ReadingRow;
use crate::trade::{State, plain_word};

/// The columns of the readings in one state.
#[derive(Clone, Copy, Debug)]
pub(super) struct OfState {
    pub(super) state: State,
    pub(super) spine: Column,
    pub(super) fore_edge: Column,
}

const fn of_state(state: State, spine: &'static str, fore_edge: &'static str) -> OfState {
    OfState {
        state,
        spine: Column { name: spine, required: false, ..ReadingRow::spine },
        fore_edge: Column { name: fore_edge, required: false, ..ReadingRow::fore_edge },
    }
}

pub(super) const OF_STATES: [OfState; State::ALL.len()] = [
    of_state(State::Unsewn, "spine_unsewn_mm", "fore_edge_unsewn_mm"),
    of_state(State::Sewn, "spine_sewn_mm", "fore_edge_sewn_mm"),
    of_state(State::Pressed, "spine_pressed_mm", "fore_edge_pressed_mm"),
    of_state(State::Knocked, "spine_knocked_mm", "fore_edge_knocked_mm"),
    of_state(State::KnockedPressed, "spine_knocked_pressed_mm", "fore_edge_knocked_pressed_mm"),
];

/// The column for one state that corresponds to `column`, which is for any state.
pub(super) fn of_one(state: State, column: &str) -> Option<&'static str> {
    let of = OF_STATES.iter().find(|of| of.state == state)?;
    let pairs = [(ReadingRow::spine, of.spine), (ReadingRow::fore_edge, of.fore_edge)];
    pairs.into_iter().find(|(any, _)| any.name == column).map(|(_, of)| of.name)
}

/// Whether a column is for a single state.
pub(super) fn is_of_state(name: &str) -> bool {
    OF_STATES.iter().any(|of| [of.spine.name, of.fore_edge.name].contains(&name))
}

/// The column that a heading without its unit names by an edge and a state. They may be in either
/// order: `spine before` and `sewn spine`.
pub(super) fn named(heading: &str) -> Option<&'static str> {
    let plain =
        plain_word(heading).replace("fore edge", "fore-edge").replace("foreedge", "fore-edge");
    let (edges, rest): (Vec<&str>, Vec<&str>) =
        plain.split(' ').partition(|word| ["spine", "fore-edge"].contains(word));
    let [edge] = edges[..] else { return None };
    let state = state(&rest.join(" "))?;
    of_one(state, if edge == "spine" { ReadingRow::spine.name } else { ReadingRow::fore_edge.name })
}

fn state(words: &str) -> Option<State> {
    match words {
        "before" | "before knocking" | "before knocking down" | "after sewing" => Some(State::Sewn),
        "after" | "after knocking" | "after knocking down" => Some(State::Knocked),
        "before sewing" => Some(State::Unsewn),
        words => words.parse().ok(),
    }
}
