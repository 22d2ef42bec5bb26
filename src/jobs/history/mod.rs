//! Whether the hand was steady from one sewing to the next.

pub mod answer;
pub(crate) mod answer_control;
pub(crate) mod text;
