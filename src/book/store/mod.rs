//! Stores the book. Nothing is lost or half-written, wherever the program is stopped.
//!
//! A command that adds to the book, under its lock,
//!
//! 1. finishes or takes back what an earlier command left undone ([`recover`]), and sets aside a
//!    last line that was cut off ([`torn`]);
//! 2. works out every byte to add;
//! 3. writes the bytes into the journal, with the length and digest of each file, and syncs it:
//!    from here on the command is decided ([`journal`]);
//! 4. adds the bytes to each file, syncs it, and checks that every file is as intended
//!    ([`commit`]);
//! 5. writes the new digest of each file ([`digests`]) and empties the journal.
//!
//! If adding fails, what was added is cut off again and the journal is emptied. Otherwise
//! everything is kept, and if step 5 fails, the next command repeats it. A command that only reads
//! works out in memory, from the same journal, what the book will be. It writes nothing.

pub(super) mod append;
pub(super) mod bytes;
pub(super) mod commit;
pub(super) mod copies;
pub(super) mod digests;
pub(super) mod disk;
pub(super) mod folder;
#[cfg(test)]
pub(super) mod hands;
pub(super) mod init;
pub(super) mod journal;
mod late;
pub(super) mod lock;
pub(super) mod open;
pub(super) mod plain;
#[cfg(test)]
pub(super) mod power_cuts;
pub(super) mod recover;
pub(super) mod settings;
#[cfg(test)]
pub(super) mod simulated;
pub(super) mod spreadsheet;
pub(super) mod torn;
