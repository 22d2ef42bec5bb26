//! `strike`: an entry taken out.

pub(crate) mod command;
pub(crate) mod page;
