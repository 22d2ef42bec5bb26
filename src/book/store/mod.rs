//! Keeping the book: nothing lost and nothing half-written, wherever the program is stopped.
//!
//! Who adds to the book, under its lock,
//!
//! 1. finishes or takes back what an earlier command left undone ([`recover`]), and sets a last
//!    line that was cut off aside ([`torn`]);
//! 2. works out every byte to be added;
//! 3. writes them into the journal, with the length and digest of each file, and syncs it: from
//!    here on the command is decided ([`journal`]);
//! 4. adds them to each file and syncs it, and looks whether every file is as it was meant
//!    ([`commit`]);
//! 5. notes the new digest of each file ([`digests`]) and empties the journal.
//!
//! When adding fails, what was added is cut off again and the journal is emptied. When it has not
//! failed everything is kept, and a failing step 5 is left to the next command. A command that
//! only reads makes out of the same journal the book as it will be, and writes nothing.

pub(super) mod append;
pub(super) mod bytes;
pub(super) mod commit;
pub(super) mod digests;
pub(super) mod disk;
pub(super) mod folder;
#[cfg(test)]
pub(super) mod hands;
pub(super) mod init;
pub(super) mod journal;
mod late;
pub(super) mod lock;
mod met;
pub(super) mod open;
pub(super) mod plain;
#[cfg(test)]
pub(super) mod power_cuts;
pub(super) mod recover;
mod rows;
pub(super) mod settings;
#[cfg(test)]
pub(super) mod simulated;
pub(super) mod spreadsheet;
pub(super) mod torn;
