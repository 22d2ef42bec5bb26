//! The entries of a book in one line each.

pub(crate) mod text;
