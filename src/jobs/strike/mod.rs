//! `strike`: strikes entries that were a mistake.

pub(crate) mod command;
pub(crate) mod page;
