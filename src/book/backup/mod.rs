//! The whole book in one file, and the book made again of it.
//!
//! The file is a tar archive, so that it can be opened without this program: a page that says what
//! it is, the files of the book in a folder, their digests, and the digest of those.

mod archive;
pub(super) mod contents;
pub(super) mod restored;
pub(super) mod taken;
