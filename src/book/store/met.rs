//! The files as a command met them.

use super::digests::Digests;
use crate::book::entries::contents::FileBytes;

/// The files as they were read to be added to.
#[derive(Clone, Debug)]
pub(in crate::book) struct Opened {
    pub(in crate::book) files: FileBytes,
    /// What they held when the program last wrote to them.
    pub(in crate::book) digests: Digests,
}
