//! Checks: faults stop a book from being read; doubts are only reported.

pub(super) mod audit;
pub(super) mod doubt;
mod doubt_subject;
mod doubt_words;
pub(super) mod entries;
pub(super) mod faults;
pub(super) mod finding;
mod once;
pub(super) mod outlying;
pub(super) mod readings;
pub(super) mod repetition;
pub(super) mod sets;
pub(super) mod stock;
pub(super) mod twins;
mod uncounted;
