//! `audit`: what is wrong or doubtful in a book.

pub(crate) mod command;
pub(crate) mod page;
pub(crate) mod text;
