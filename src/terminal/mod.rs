//! The terminal, without knowledge of any job: session, prompts, refusals, values, output, words.

pub mod exit;
pub(crate) mod input;
mod interrupt;
pub(crate) mod json;
pub(crate) mod line;
pub(crate) mod mark;
pub(crate) mod number;
pub(crate) mod odds;
pub(crate) mod output;
pub(crate) mod part;
pub(crate) mod picture;
pub(crate) mod progress;
pub(crate) mod prompt;
pub mod refusal;
pub(crate) mod said;
pub(crate) mod screen;
pub(crate) mod sending;
pub mod session;
pub(crate) mod strip;
pub(crate) mod suggest;
pub(crate) mod table;
mod today;
pub(crate) mod values;
pub(crate) mod words;
