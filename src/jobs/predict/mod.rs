//! `predict`: a planned book.

pub(crate) mod command;
