//! Thread: its kind, its diameter and its length.

pub(super) mod count;
pub(super) mod entry;
pub(super) mod length;
mod spool;
pub(super) mod starting;
