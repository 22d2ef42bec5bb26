//! Recovers from a command that was stopped: all of it is kept or nothing.
//!
//! A file is finished if it still begins with what the journal says it held, followed only by a
//! beginning of what was to be added. A file that was edited since is left as it is. If it has
//! every row that was to be added, the other files are finished. If it has not, they are taken
//! back, and the journal is set aside in a file of its own.
//!
//! Nothing is done before the journal is known to be on the disk. The journal is emptied only when
//! every file is on the disk. If a file is edited meanwhile, everything is settled again.

use super::digests::{Digests, stamps};
use super::disk::{Disk, Growing, failed};
use super::journal::{Addition, JOURNAL, Journal, Within};
use super::torn::{add_lasting, changed, still_holds};
use super::{digests, journal};
use crate::book::entries::contents::{Rows, bytes_of};
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use std::io;

/// The file for a journal that could be neither finished nor forgotten.
pub(in crate::book) const SET_ASIDE: &str = "journal.set-aside.txt";

/// What becomes of a command that was stopped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) enum Left {
    /// There is no such command.
    Nothing,
    /// It was not decided. Only its journal must be emptied.
    CutOff,
    /// It is finished by these fixes. The named files were saved by another program and hold all of
    /// it.
    Finish(Vec<Fix>, Vec<&'static str>),
    /// It is taken back by these fixes, and its journal is set aside. The named files were saved by
    /// another program and hold some of it.
    TakeBack(Vec<Fix>, Vec<&'static str>),
}

/// A file to be cut to a length and added to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Fix {
    pub(in crate::book) file: BookFile,
    length: u64,
    bytes: Vec<u8>,
}

/// How a file compares with its addition.
enum Standing {
    /// As it was, with none, some or all of the addition.
    AsLeft,
    /// Edited since, with this much of the addition in it.
    Edited(Within),
}

/// Decides what becomes of the command in `journal`, with the files as they are.
pub(in crate::book) fn left(journal: &Journal, rows: &Rows) -> Left {
    let additions = match journal {
        Journal::Decided(additions) => additions,
        Journal::CutOff => return Left::CutOff,
        Journal::Empty | Journal::Newer | Journal::Foreign => return Left::Nothing,
    };
    let standing = |addition: &Addition| standing(addition, bytes_of(rows, addition.file));
    let standings: Vec<Standing> = additions.iter().map(standing).collect();
    let is_lost =
        |standing: &Standing| matches!(standing, Standing::Edited(Within::Part | Within::Nothing));
    let lost = standings.iter().any(is_lost);
    let (mut fixes, mut stays) = (Vec::new(), Vec::new());
    for (addition, standing) in additions.iter().zip(&standings) {
        let Addition { file, before, bytes, .. } = addition;
        match standing {
            Standing::AsLeft => {
                let bytes = if lost { Vec::new() } else { bytes.clone() };
                fixes.push(Fix { file: *file, length: before.bytes, bytes });
            }
            Standing::Edited(Within::Whole | Within::Part) => stays.push(file.name()),
            Standing::Edited(Within::Nothing) => {}
        }
    }
    if lost { Left::TakeBack(fixes, stays) } else { Left::Finish(fixes, stays) }
}

fn standing(addition: &Addition, now: &[u8]) -> Standing {
    let length = usize::try_from(addition.before.bytes).unwrap_or(usize::MAX);
    let (then, since) = now.split_at_checked(length).unwrap_or((now, &[]));
    if addition.before.fits(then) && begins(since, &addition.bytes) {
        Standing::AsLeft
    } else {
        Standing::Edited(addition.within(now))
    }
}

/// Whether `since` is a beginning of `bytes`. On some file systems, bytes that did not reach the
/// disk are zeros.
fn begins(since: &[u8], bytes: &[u8]) -> bool {
    let reached = |(now, wanted): (&u8, &u8)| now == wanted || *now == 0;
    since.len() <= bytes.len() && since.iter().zip(bytes).all(reached)
}

/// Makes the fixes in memory only.
pub(in crate::book) fn fixed(rows: &mut Rows, fixes: &[Fix]) {
    for Fix { file, length, bytes } in fixes {
        let whole = rows.entry(*file).or_default();
        whole.truncate(usize::try_from(*length).unwrap_or(usize::MAX));
        whole.extend_from_slice(bytes);
    }
}

/// How often to settle again if files are edited meanwhile.
const TRIES: usize = 5;

/// Settles on the disk what the journal says, writes the digests and empties the journal. Returns
/// what became of the command.
///
/// # Errors
/// [`BookError::Io`]; the journal then stays for the next command.
pub(in crate::book) fn settle<D: Disk>(
    disk: &D,
    journal: &Journal,
    rows: &mut Rows,
    digests: &mut Digests,
) -> Result<Left, BookError> {
    let additions = match journal {
        Journal::Empty | Journal::Newer | Journal::Foreign => return Ok(Left::Nothing),
        Journal::CutOff => {
            journal::clear(disk, journal::DONE)?;
            return Ok(Left::CutOff);
        }
        Journal::Decided(additions) => additions,
    };
    let bytes = journal::encode(additions.iter());
    journal::make_lasting(disk, &bytes)?;
    for _ in 0..TRIES {
        let left = left(journal, rows);
        let made = make(disk, &left, rows, &bytes)?;
        let now = read_again(disk, additions)?;
        if made && additions.iter().all(|it| rows.get(&it.file) == now.get(&it.file)) {
            if matches!(left, Left::Finish(..)) {
                // This includes files that another program saved. That is reported now, and later
                // edits of them will be too.
                digests.rows.extend(stamps(&now));
                digests::write(disk, digests)?;
            }
            journal::clear(disk, journal::DONE)?;
            return Ok(left);
        }
        rows.extend(now);
    }
    Err(failed(disk, JOURNAL, SETTLING)(changed()))
}

const SETTLING: &str = "finishing what an earlier command began";

/// The files of a journal as they are. One that is made late may be missing.
fn read_again<D: Disk>(disk: &D, additions: &[Addition]) -> Result<Rows, BookError> {
    let read = |addition: &Addition| {
        let name = addition.file.name();
        let bytes = disk.read(name).map_err(failed(disk, name, SETTLING))?;
        Ok(bytes.map(|bytes| (addition.file, bytes)))
    };
    additions.iter().filter_map(|addition| read(addition).transpose()).collect()
}

/// Makes the fixes on the disk and in memory, and syncs files that another program saved. Returns
/// whether every file was as expected.
fn make<D: Disk>(
    disk: &D,
    left: &Left,
    rows: &mut Rows,
    journal: &[u8],
) -> Result<bool, BookError> {
    let (fixes, stays) = match left {
        Left::Nothing | Left::CutOff => return Ok(true),
        Left::Finish(fixes, stays) => (fixes, stays),
        Left::TakeBack(fixes, stays) => {
            add_lasting(disk, SET_ASIDE, JOURNAL, journal)?;
            (fixes, stays)
        }
    };
    for fix in fixes {
        let name = fix.file.name();
        if !make_one(disk, rows, fix).map_err(failed(disk, name, SETTLING))? {
            return Ok(false);
        }
    }
    fixed(rows, fixes);
    for name in stays {
        let synced = disk.open(name).and_then(|mut file| file.sync());
        synced.map_err(failed(disk, name, SETTLING))?;
    }
    Ok(true)
}

/// Makes a fix, if the file is still as expected. It writes even if the file looks right already:
/// the bytes may not be on the disk, and after a failed sync only writing them again puts them
/// there.
fn make_one<D: Disk>(disk: &D, rows: &Rows, fix: &Fix) -> io::Result<bool> {
    let (name, Fix { length, bytes, .. }) = (fix.file.name(), fix);
    let whole = bytes_of(rows, fix.file);
    let over = !bytes.is_empty() && whole.len() as u64 > *length;
    let mut file = if over { disk.open_over(name)? } else { disk.open(name)? };
    if !still_holds(disk, name, &file, whole)? {
        return Ok(false);
    }
    match (bytes.is_empty(), over) {
        (true, _) => file.cut(*length)?,
        (false, true) => file.fill(*length, bytes)?,
        (false, false) => file.add(bytes, &mut 0)?,
    }
    file.sync().map(|()| true)
}
