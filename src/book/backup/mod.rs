//! Backup and restore: a whole book in one file.
//!
//! The file is a tar archive, so it can be opened without this program. It has a text that says
//! what it is, the files of the book in a folder, their digests, and the digest of those digests.

mod archive;
mod backup_error;
pub(super) mod contents;
pub(super) mod restored;
pub(super) mod taken;
