//! What a book holds, and its rows.

pub(super) mod contents;
pub(super) mod forecast;
pub(super) mod heading;
pub(super) mod held;
pub(super) mod paper;
pub(super) mod reading;
pub(super) mod record;
pub(super) mod resolve;
pub(super) mod sent;
mod strike;
pub(super) mod table;
pub(super) mod tables;
mod target;
pub(super) mod thread;
pub(super) mod trial;
