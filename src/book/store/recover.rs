//! What a command that was stopped has left behind, and what becomes of it: all or nothing.
//!
//! A file that still begins with what the journal says it held, and goes on with nothing but the
//! beginning of what was to be added, is finished. A file that somebody has edited since is left
//! as it is: when it has every line that was to be added, the rest is finished; when it has not,
//! the rest is taken back and the journal is set aside under a name of its own.
//!
//! Nothing is done before the journal is known to be on the disk, and the journal is emptied only
//! when every file is: somebody may change one while it is settled, and then it is settled again.

use super::digests::{Digests, Stamp};
use super::disk::{Disk, Growing, failed};
use super::journal::{Addition, JOURNAL, Journal, Within};
use super::rows::Rows;
use super::torn::{add_lasting, changed, still_holds};
use super::{digests, journal};
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use std::io;

/// Where a journal goes that could neither be finished nor forgotten.
pub(in crate::book) const SET_ASIDE: &str = "journal.set-aside.txt";

/// What becomes of a command that was stopped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) enum Left {
    /// There is none.
    Nothing,
    /// It was not decided; only its journal is to be emptied.
    CutOff,
    /// It is finished by these fixes. The files named hold all of it as somebody has saved them.
    Finish(Vec<Fix>, Vec<&'static str>),
    /// It is taken back by these fixes, and its journal is set aside. The files named hold something
    /// of it as somebody has saved them.
    TakeBack(Vec<Fix>, Vec<&'static str>),
}

/// A file to be cut to a length and added to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Fix {
    pub(in crate::book) file: BookFile,
    length: u64,
    bytes: Vec<u8>,
}

/// How a file stands to its addition.
enum Standing {
    /// As it was, with none, some or all of the addition.
    AsLeft,
    /// Edited since, with so much of the addition in it.
    Edited(Within),
}

/// What becomes of what `journal` says, with the files as they are.
pub(in crate::book) fn left(journal: &Journal, rows: &Rows) -> Left {
    let additions = match journal {
        Journal::Decided(additions) => additions,
        Journal::CutOff => return Left::CutOff,
        Journal::Empty | Journal::Newer | Journal::Foreign => return Left::Nothing,
    };
    let now = |file: BookFile| rows.get(&file).map_or(&[][..], Vec::as_slice);
    let standings = additions.iter().map(|addition| standing(addition, now(addition.file)));
    let standings: Vec<Standing> = standings.collect();
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

/// Whether `since` is the beginning of `bytes`, as far as it reached the disk: what did not is
/// zeros on some file systems.
fn begins(since: &[u8], bytes: &[u8]) -> bool {
    let reached = |(now, wanted): (&u8, &u8)| now == wanted || *now == 0;
    since.len() <= bytes.len() && since.iter().zip(bytes).all(reached)
}

/// The files with the fixes made, in memory only.
pub(in crate::book) fn fixed(rows: &mut Rows, fixes: &[Fix]) {
    for Fix { file, length, bytes } in fixes {
        let whole = rows.entry(*file).or_default();
        whole.truncate(usize::try_from(*length).unwrap_or(usize::MAX));
        whole.extend_from_slice(bytes);
    }
}

/// How often files are settled again that somebody changes meanwhile.
const TRIES: usize = 5;

/// Settles on the disk what the journal says, notes the digests and empties the journal. Returns
/// what became of its command.
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
                // Also of what somebody has saved: it is reported now, and what becomes of it later.
                digests.rows.extend(now.iter().map(|(file, bytes)| (*file, Stamp::of(bytes))));
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

/// The files of a journal as they are; one that is made late may be gone.
fn read_again<D: Disk>(disk: &D, additions: &[Addition]) -> Result<Rows, BookError> {
    let read = |addition: &Addition| {
        let name = addition.file.name();
        let bytes = disk.read(name).map_err(failed(disk, name, SETTLING))?;
        Ok(bytes.map(|bytes| (addition.file, bytes)))
    };
    additions.iter().filter_map(|addition| read(addition).transpose()).collect()
}

/// Makes the fixes on the disk and in memory, and what somebody has saved lasting; whether every
/// file was as it was thought to be.
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
            add_lasting(disk, (SET_ASIDE, JOURNAL), journal)?;
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

/// Makes a fix, if the file is still as it was thought to be, also where it looks as it is to be:
/// what was written may not be on the disk, and where a sync has failed only writing it again puts
/// it there.
fn make_one<D: Disk>(disk: &D, rows: &Rows, fix: &Fix) -> io::Result<bool> {
    let (name, Fix { length, bytes, .. }) = (fix.file.name(), fix);
    let whole = rows.get(&fix.file).map_or(&[][..], Vec::as_slice);
    let over = !bytes.is_empty() && whole.len() as u64 > *length;
    let mut file = if over { disk.open_over(name)? } else { disk.open(name)? };
    if !still_holds(disk, name, (&file, whole))? {
        return Ok(false);
    }
    match (bytes.is_empty(), over) {
        (true, _) => file.cut(*length)?,
        (false, true) => file.fill(*length, bytes)?,
        (false, false) => file.add(bytes, &mut 0)?,
    }
    file.sync().map(|()| true)
}
