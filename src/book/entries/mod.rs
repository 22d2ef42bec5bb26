//! The entries of a book, and their rows in the files.

pub(super) mod added;
pub(super) mod change;
pub(super) mod contents;
pub(super) mod differing;
pub(super) mod forecast;
pub(super) mod heading;
pub(super) mod held;
mod latest;
pub(super) mod noted;
pub(super) mod paper;
pub(super) mod plan;
pub(super) mod reading;
pub(super) mod record;
pub(super) mod resolve;
mod strike;
mod struck;
pub(super) mod table;
pub(super) mod tables;
mod target;
pub(super) mod thread;
pub(super) mod trial;
