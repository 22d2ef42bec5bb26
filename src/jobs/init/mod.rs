//! `init`: makes a new book.

pub(crate) mod command;
mod text;
