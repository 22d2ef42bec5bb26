//! `audit`: errors and suspect entries of a book.

pub(crate) mod command;
pub(crate) mod page;
pub(crate) mod text;
