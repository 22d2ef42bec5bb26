//! Whether the hand was steady between sewings.

pub mod answer;
pub(crate) mod answer_control;
pub(crate) mod text;
