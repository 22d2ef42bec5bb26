//! `midway`: predicts where a sewing under way will end.

pub mod answer;
pub mod answer_changes;
pub mod answer_fault;
pub mod answer_part;
pub mod answer_stop;
pub(crate) mod command;
pub(crate) mod page;
pub(crate) mod page_said;
pub(crate) mod text;
pub(crate) mod text_json;
pub(crate) mod text_part;
pub(crate) mod text_picture;
#[cfg(test)]
pub(crate) mod text_tests;
