use super::digests::Digests;
use crate::book::entries::contents::FileBytes;

/// The files as a command read them before adding to them.
#[derive(Clone, Debug)]
pub(in crate::book) struct Opened {
    pub(in crate::book) files: FileBytes,
    /// The digests after the program's last write.
    pub(in crate::book) digests: Digests,
}
