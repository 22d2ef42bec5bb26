//! What a command that was stopped has left behind, and what becomes of it: all or nothing.
//!
//! A file that still begins with what the journal says it held, and goes on with nothing but the
//! beginning of what was to be added, is finished. A file that somebody has edited since is left
//! as it is: when it has every line that was to be added, the rest is finished; when it has not,
//! the rest is taken back and the journal is set aside under a name of its own.

use super::digests::{self, Digests, Stamp};
use super::disk::{Disk, Growing, failed};
use super::journal::{self, Addition, JOURNAL, Journal};
use super::torn::add_lasting;
use crate::book::BookError;
use crate::book::files::BookFile;
use crate::units::shown_path;
use std::collections::BTreeMap;

/// Where a journal goes that could neither be finished nor forgotten.
pub(in crate::book) const SET_ASIDE: &str = "journal.set-aside.txt";

/// The bytes of the files with rows.
pub(super) type Rows = BTreeMap<BookFile, Vec<u8>>;

/// What becomes of a command that was stopped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Left {
    /// There is none.
    Nothing,
    /// It was not decided; only its journal is to be emptied.
    CutOff,
    /// It is finished by these fixes.
    Finish(Vec<Fix>),
    /// It is taken back by these fixes, and its journal is set aside. The files named hold what was
    /// added to them as somebody has saved it since.
    TakeBack(Vec<Fix>, Vec<&'static str>),
}

/// A file to be cut to a length and added to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fix {
    pub(super) file: BookFile,
    length: u64,
    bytes: Vec<u8>,
}

/// How a file stands to its addition.
enum Standing {
    /// As it was, with none, some or all of the addition.
    AsLeft,
    /// Edited since, with every line of the addition in it.
    EditedWith,
    /// Edited since, without.
    EditedWithout,
}

/// What becomes of what `journal` says, with the files as they are.
pub(super) fn left(journal: Journal, rows: &Rows) -> Left {
    let additions = match journal {
        Journal::Decided(additions) => additions,
        Journal::CutOff => return Left::CutOff,
        Journal::Empty | Journal::Newer => return Left::Nothing,
    };
    let now = |file: BookFile| rows.get(&file).map_or(&[][..], Vec::as_slice);
    let standings: Vec<Standing> =
        additions.iter().map(|addition| standing(addition, now(addition.file))).collect();
    let lost = standings.iter().any(|standing| matches!(standing, Standing::EditedWithout));
    let edited_with = additions.iter().zip(&standings);
    let edited_with = edited_with.filter(|(_, stands)| matches!(stands, Standing::EditedWith));
    let stays = edited_with.map(|(addition, _)| addition.file.name()).collect();
    let as_left = additions.into_iter().zip(standings);
    let as_left = as_left.filter(|(_, standing)| matches!(standing, Standing::AsLeft));
    let fix = |Addition { file, before, bytes, .. }: Addition| Fix {
        file,
        length: before.bytes,
        bytes: if lost { Vec::new() } else { bytes },
    };
    let fixes = as_left.map(|(addition, _)| fix(addition)).collect();
    if lost { Left::TakeBack(fixes, stays) } else { Left::Finish(fixes) }
}

fn standing(addition: &Addition, now: &[u8]) -> Standing {
    let length = usize::try_from(addition.before.bytes).unwrap_or(usize::MAX);
    let (then, since) = now.split_at_checked(length).unwrap_or((now, &[]));
    if addition.before.fits(then) && begins(since, &addition.bytes) {
        Standing::AsLeft
    } else if addition.is_within(now) {
        Standing::EditedWith
    } else {
        Standing::EditedWithout
    }
}

/// Whether `since` is the beginning of `bytes`, as far as it reached the disk: what did not is
/// zeros on some file systems.
fn begins(since: &[u8], bytes: &[u8]) -> bool {
    let reached = |(now, wanted): (&u8, &u8)| now == wanted || *now == 0;
    since.len() <= bytes.len() && since.iter().zip(bytes).all(reached)
}

/// The files with the fixes made, in memory only.
pub(super) fn fixed(rows: &mut Rows, fixes: &[Fix]) {
    for Fix { file, length, bytes } in fixes {
        let whole = rows.entry(*file).or_default();
        whole.truncate(usize::try_from(*length).unwrap_or(usize::MAX));
        whole.extend_from_slice(bytes);
    }
}

/// Makes the fixes on the disk, notes the digests and empties the journal.
///
/// # Errors
/// [`BookError::Io`]; the journal then stays for the next command.
pub(super) fn settle<D: Disk>(
    disk: &D,
    left: &Left,
    rows: &mut Rows,
    digests: &mut Digests,
) -> Result<(), BookError> {
    match left {
        Left::Nothing => return Ok(()),
        Left::CutOff => {}
        Left::Finish(fixes) => {
            make(disk, rows, fixes)?;
            fixed(rows, fixes);
            digests.extend(fixes.iter().map(|fix| (fix.file, Stamp::of(&rows[&fix.file]))));
            digests::write(disk, digests)?;
        }
        Left::TakeBack(fixes, _) => {
            let journal = disk.read(JOURNAL).map_err(failed(disk, JOURNAL, "reading"))?;
            add_lasting(disk, (SET_ASIDE, JOURNAL), &journal.unwrap_or_default())?;
            make(disk, rows, fixes)?;
            fixed(rows, fixes);
        }
    }
    journal::clear(disk, journal::DONE)
}

fn make<D: Disk>(disk: &D, rows: &Rows, fixes: &[Fix]) -> Result<(), BookError> {
    fixes.iter().try_for_each(|fix| make_one(disk, rows, fix))
}

/// Makes a fix also where the file looks as it is to be: what was written may not be on the disk,
/// and where a sync has failed only writing it again puts it there.
fn make_one<D: Disk>(disk: &D, rows: &Rows, fix: &Fix) -> Result<(), BookError> {
    const DOING: &str = "finishing what an earlier command began";
    let name = fix.file.name();
    let error = failed(disk, name, DOING);
    let mut file = disk.open(name).map_err(&error)?;
    if disk.read(name).map_err(&error)?.as_ref() != rows.get(&fix.file) {
        let path = shown_path(&disk.path(name));
        let message = format!("{path} was changed meanwhile; nothing was kept, so try again");
        return Err(BookError::Clash(message));
    }
    file.cut(fix.length)
        .and_then(|()| file.add(&fix.bytes, &mut 0))
        .and_then(|()| file.sync())
        .map_err(error)
}
