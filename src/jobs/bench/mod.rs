//! `bench`: the book as a web page, on this machine or for the phones of the workshop.

mod answer_first;
pub(crate) mod command;
pub(crate) mod page;
pub(crate) mod text;
