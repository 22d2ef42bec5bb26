//! `undo`: undoes the last change.

pub(crate) mod answer;
pub(crate) mod command;
pub(crate) mod page;
mod text;
