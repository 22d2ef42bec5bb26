//! `restore`: a book made again of its backup.

pub(crate) mod command;
