//! The marks of a block's states, the same in every chart.

use crate::draw::layout::{Look, Sign};
use crate::draw::palette::Tone;
use crate::draw::scene::Form;
use crate::trade::State;

pub(crate) const fn look(state: State) -> (Form, Tone) {
    match state {
        State::Unsewn | State::Sewn => (Form::Ring, Tone::Before),
        State::Pressed => (Form::Square, Tone::Before),
        State::Knocked => (Form::Disc, Tone::After),
        State::KnockedPressed => (Form::Square, Tone::After),
    }
}

/// The entry of the legend for a state.
pub(crate) const fn sign(state: State) -> Sign {
    let (form, tone) = look(state);
    Sign { look: Look::Mark(form, tone), words: state.phrase() }
}
