//! Detects drift between sewings in order of date.

pub mod answer;
pub(crate) mod answer_control;
pub(crate) mod text;
