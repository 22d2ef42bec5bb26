//! Detects drift between sewings in order of date.

pub mod answer;
pub(crate) mod answer_control;
pub mod answer_hands;
pub(crate) mod text;
