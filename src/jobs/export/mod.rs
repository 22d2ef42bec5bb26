//! `export`: what the book holds and the draws behind its answers, as tables.

pub(crate) mod answer;
pub(crate) mod answer_columns;
pub(crate) mod answer_rows;
pub(crate) mod answer_sheet;
pub mod answer_summary;
pub(crate) mod command;
pub(crate) mod command_summary;
pub(crate) mod page;
pub(crate) mod text;
pub(crate) mod text_format;
pub(crate) mod text_rows;
pub(crate) mod text_sheet;
pub(crate) mod text_summary;
