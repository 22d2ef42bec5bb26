//! Tracks how often kept forecasts held what they promised.

pub mod answer;
pub(crate) mod answer_blurred;
pub(crate) mod answer_days;
pub mod answer_otherwise;
pub mod answer_reliability;
pub(crate) mod text;
#[cfg(test)]
pub(crate) mod text_tests;
