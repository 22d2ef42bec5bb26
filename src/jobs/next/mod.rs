//! `next`: finds the trial block to sew next.

pub mod answer;
pub(crate) mod answer_admitted;
pub mod answer_calibrate;
pub mod answer_candidates;
pub mod answer_choice;
pub(crate) mod answer_long;
pub mod answer_minutes;
pub mod answer_odds;
pub(crate) mod command;
pub(crate) mod text;
pub(crate) mod text_calibration;
