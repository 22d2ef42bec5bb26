//! What knows the terminal and no job: the session, prompts, refusals, values, output, words.

pub mod exit;
pub mod input;
pub mod json;
pub mod line;
pub mod mark;
pub mod number;
pub mod odds;
pub mod output;
pub mod part;
pub mod picture;
pub mod progress;
pub mod prompt;
pub mod refusal;
pub mod said;
pub mod screen;
pub mod session;
pub mod strip;
pub mod suggest;
pub mod table;
pub mod values;
pub mod words;
