//! `restore`: a struck entry brought back, or a book made again of its backup.

pub(crate) mod command;
pub(crate) mod page;
