//! Doubts about a book and about new entries: found by one table of checks, asked about at a
//! terminal, noted for a script.

pub(crate) mod answer;
pub mod answer_apart;
mod answer_far;
pub(crate) mod command;
pub(crate) mod page_open;
pub(crate) mod text;
