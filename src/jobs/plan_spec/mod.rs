//! A planned book: read from flags or a file, checked against the book, put into words.

pub mod answer_band;
pub(crate) mod answer_offered;
pub mod answer_question;
pub(crate) mod answer_typical;
pub(crate) mod command;
pub(crate) mod command_asked;
mod command_asked_values;
mod command_changed;
pub(crate) mod command_lengths;
pub(crate) mod command_named;
pub(crate) mod command_question;
pub(crate) mod command_resolve;
pub(crate) mod command_saved;
pub(crate) mod command_stock;
pub(crate) mod command_wanted;
pub(crate) mod command_words;
pub(crate) mod page_fields;
pub(crate) mod text;
pub(crate) mod text_way;
