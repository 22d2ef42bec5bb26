//! `chart`: what the book knows, as pictures.

pub(crate) mod answer_agreement;
pub(crate) mod answer_factors;
pub mod answer_history;
pub(crate) mod answer_knockdown;
pub mod answer_residuals;
pub mod answer_swell;
pub(crate) mod command;
pub(crate) mod command_swell;
pub(crate) mod draw_agreement;
pub(crate) mod draw_factors;
pub(crate) mod draw_history;
pub(crate) mod draw_history_words;
pub(crate) mod draw_knockdown;
pub(crate) mod draw_knockdown_words;
pub(crate) mod draw_plan;
pub(crate) mod draw_residuals;
pub(crate) mod draw_residuals_words;
pub(crate) mod draw_states;
pub(crate) mod draw_swell;
#[cfg(test)]
pub(crate) mod draw_swell_tests;
pub(crate) mod draw_swell_words;
#[cfg(test)]
pub(crate) mod draw_test_views;
#[cfg(test)]
pub(crate) mod draw_tests;
