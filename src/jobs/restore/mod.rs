//! `restore`: a struck entry brought back.

pub(crate) mod command;
pub(crate) mod page;
