//! `undo`: the last change taken back.

pub(crate) mod answer;
pub(crate) mod command;
pub(crate) mod page;
mod text;
