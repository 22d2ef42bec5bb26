//! The marks of a block's states, the same in every chart.

use crate::draw::palette::Tone;
use crate::draw::scene::Form;
use crate::trade::State;

pub(crate) fn look(state: State) -> (Form, Tone) {
    match state {
        State::Unsewn | State::Sewn => (Form::Ring, Tone::Before),
        State::Pressed => (Form::Square, Tone::Before),
        State::Knocked => (Form::Disc, Tone::After),
        State::KnockedPressed => (Form::Square, Tone::After),
    }
}
