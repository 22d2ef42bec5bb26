//! `export`: the draws behind the answers.

pub(crate) mod answer;
pub(crate) mod answer_columns;
pub(crate) mod command;
pub(crate) mod text;
