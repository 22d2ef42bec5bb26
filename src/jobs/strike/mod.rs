//! `strike`: an entry taken out.

pub(crate) mod command;
