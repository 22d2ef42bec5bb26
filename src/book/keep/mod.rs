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

mod commit;
mod digests;
mod disk;
mod journal;
mod open;
mod recover;
mod spreadsheet;
mod torn;

#[cfg(test)]
mod hands;
#[cfg(test)]
mod power_cuts;
#[cfg(test)]
mod simulated;

pub(super) use commit::commit;
pub(super) use digests::{DIGESTS, first_digests};
pub(super) use disk::{Disk, Folder, beside, io_error};
pub(super) use journal::JOURNAL;
pub(super) use open::{accept, edited_files, read, read_to_write};
pub(super) use recover::SET_ASIDE;
