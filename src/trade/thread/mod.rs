//! Thread: what it is, how thick, how much of it.

pub(super) mod count;
pub(super) mod entry;
pub(super) mod length;
mod spool;
pub(super) mod starting;
