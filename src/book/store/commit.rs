//! Adds to several files: all of them or none.
//!
//! Rows are taken back only while the whole journal is known to be on the disk. If that is
//! interrupted, the next command finds the journal and finishes. Once every row is on the disk, the
//! command is done, whatever fails afterwards.

use super::digests::{DIGESTS, Digests, Stamp};
use super::disk::{Disk, Growing, failed};
use super::journal::{Addition, JOURNAL, Journal};
use super::open::{Opened, saved_with};
use super::recover::{Left, SET_ASIDE, settle};
use super::spreadsheet::refuse_open;
use super::torn::{changed, still_holds};
use super::{digests, journal};
use crate::book::entries::contents::{Rows, bytes_of};
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::units::shown_path;

const LOOKING: &str = "checking that it is complete";

/// A file that is being added to.
struct Growth<'a, F> {
    addition: &'a Addition,
    file: F,
    /// The number of bytes of the addition that were written.
    added: usize,
}

/// Writes every tail at the end of its file, or none. The notices report what else the binder
/// should know once everything is kept.
///
/// # Errors
/// [`BookError::Clash`] if a file is no longer as it was read; [`BookError::Open`] if a spreadsheet
/// has it open; [`BookError::Io`] if the system refuses. Every file is then as it was.
/// [`BookError::Undecided`] if that is not known.
pub(in crate::book) fn commit<D: Disk>(
    disk: &D,
    opened: &Opened,
    tails: Rows,
) -> Result<Vec<Notice>, BookError> {
    let additions = additions(opened, tails);
    if additions.is_empty() {
        return Ok(Vec::new());
    }
    let growths = additions.iter().map(|addition| open(disk, opened, addition));
    let growths = growths.collect::<Result<Vec<_>, _>>()?;
    // Before anything is decided, so that a full disk is noticed here and not after the rows are
    // written.
    digests::prepare(disk, &digests_after(opened, &additions))?;
    let done = grow(disk, opened, growths);
    match done {
        Ok(true) => Ok(tidy(disk).into_iter().collect()),
        Ok(false) => {
            disk.discard(DIGESTS);
            meddled_with(disk, opened, additions)
        }
        Err(error) => {
            disk.discard(DIGESTS);
            Err(error)
        }
    }
}

/// Adds to every file under the journal. Returns whether every file is then as intended.
fn grow<D: Disk>(
    disk: &D,
    opened: &Opened,
    mut growths: Vec<Growth<'_, D::File>>,
) -> Result<bool, BookError> {
    journal::write(disk, growths.iter().map(|growth| growth.addition))?;
    if let Err(error) = growths.iter_mut().try_for_each(|growth| add(disk, growth)) {
        return Err(take_back(disk, &mut growths).err().unwrap_or(error));
    }
    growths.iter().try_fold(true, |all, growth| {
        let file = growth.addition.file;
        let meant = is_as_meant(disk, growth, bytes_of(&opened.files.rows, file));
        Ok(all && meant.map_err(undecided(disk, file.name(), LOOKING))?)
    })
}

fn additions(opened: &Opened, tails: Rows) -> Vec<Addition> {
    let before = |file| bytes_of(&opened.files.rows, file);
    tails.into_iter().map(|(file, tail)| Addition::new(file, before(file), tail)).collect()
}

/// Opens a file to add to it, if it is still as it was when it was read.
fn open<'a, D: Disk>(
    disk: &D,
    opened: &Opened,
    addition: &'a Addition,
) -> Result<Growth<'a, D::File>, BookError> {
    let name = addition.file.name();
    refuse_open(disk, name)?;
    let file = disk.open(name).map_err(failed(disk, name, "opening it"))?;
    let now = disk.read(name).map_err(failed(disk, name, "reading it"))?;
    if now.as_ref() == opened.files.rows.get(&addition.file) {
        return Ok(Growth { addition, file, added: 0 });
    }
    let path = disk.path(name);
    let message =
        format!("{} was changed meanwhile; nothing was saved; try again", shown_path(&path));
    Err(BookError::Clash(message))
}

fn add<D: Disk>(disk: &D, growth: &mut Growth<'_, D::File>) -> Result<(), BookError> {
    let Growth { addition, file, added } = growth;
    file.add(&addition.bytes, added).and_then(|()| file.sync()).map_err(failed(
        disk,
        addition.file.name(),
        "writing to it",
    ))
}

/// Whether the name leads to the file that was added to, and nothing else was changed in it.
fn is_as_meant<D: Disk>(
    disk: &D,
    growth: &Growth<'_, D::File>,
    before: &[u8],
) -> std::io::Result<bool> {
    let Growth { addition, file, .. } = growth;
    let name = addition.file.name();
    let Some(now) = disk.read(name)? else { return Ok(false) };
    let kept = now.strip_prefix(before) == Some(addition.bytes.as_slice());
    Ok(kept && disk.leads_to(name, file)?)
}

/// Handles a file that another program changed while rows were added to it. Recovery compares the
/// file with the journal and decides what becomes of the command.
fn meddled_with<D: Disk>(
    disk: &D,
    opened: &Opened,
    additions: Vec<Addition>,
) -> Result<Vec<Notice>, BookError> {
    let mut rows = Rows::new();
    for addition in &additions {
        let name = addition.file.name();
        let now = disk.read(name).map_err(undecided(disk, name, LOOKING))?;
        rows.insert(addition.file, now.unwrap_or_default());
    }
    let (journal, mut digests) = (Journal::Decided(additions), opened.digests.clone());
    let left = settle(disk, &journal, &mut rows, &mut digests).map_err(BookError::undecided)?;
    match left {
        Left::TakeBack(..) => {
            let kept = format!("what it was adding is in {SET_ASIDE}");
            let error = undecided(disk, JOURNAL, "a file was changed while it was written to");
            Err(error(std::io::Error::other(kept)))
        }
        Left::Nothing | Left::CutOff | Left::Finish(..) => Ok(saved_with(&left)),
    }
}

fn digests_after(opened: &Opened, additions: &[Addition]) -> Digests {
    let mut digests = opened.digests.clone();
    // The next command that adds something reports an edit of the settings. But missing settings
    // are reported until they are restored or accepted, so their old digest stays.
    if !opened.files.notices.iter().any(|notice| matches!(notice, Notice::Shorter { .. })) {
        digests.settings = Some(Stamp::of(&opened.files.settings));
    }
    let is_unsure = |file: BookFile| {
        let notices = opened.files.notices.iter();
        let mut unsure = notices.filter(|notice| matches!(notice, Notice::Unsure { .. }));
        unsure.any(|notice| *notice.place().file == *file.name())
    };
    for Addition { file, bytes, .. } in additions.iter().filter(|it| !is_unsure(it.file)) {
        let mut whole = opened.files.rows.get(file).cloned().unwrap_or_default();
        whole.extend_from_slice(bytes);
        digests.rows.insert(*file, Stamp::of(&whole));
    }
    digests
}

/// Puts the digests in place and empties the journal. The command is done even if both fail. The
/// journal is emptied even if the digests cannot be put in place: what is kept must not be taken
/// back after an edit. The next command finds the new digests beside the old ones.
fn tidy<D: Disk>(disk: &D) -> Option<Notice> {
    let noted = digests::put(disk);
    let cleared = journal::clear(disk, journal::DONE);
    let why = noted.and(cleared).err()?.to_string();
    Some(Notice::Untidy { place: Location::file(JOURNAL), why })
}

/// Removes from every file what was added to it, and then empties the journal.
///
/// # Errors
/// [`BookError::Undecided`]; the journal then stays for the next command.
fn take_back<D: Disk>(disk: &D, growths: &mut [Growth<'_, D::File>]) -> Result<(), BookError> {
    for growth in growths {
        let name = growth.addition.file.name();
        let error = undecided(disk, name, "undoing what was added");
        cut_own(disk, growth).map_err(error)?;
    }
    journal::clear(disk, "noting that the command was undone").map_err(BookError::undecided)
}

/// Cuts off what was added to a file and nothing else: another program may have added a line before
/// it.
fn cut_own<D: Disk>(disk: &D, growth: &mut Growth<'_, D::File>) -> std::io::Result<()> {
    let Growth { addition, file, added } = growth;
    let name = addition.file.name();
    if *added == 0 {
        return Ok(());
    }
    let own = addition.bytes.get(..*added).unwrap_or_default();
    // The check is the last step before the cut.
    let now = disk.read(name)?.unwrap_or_default();
    let theirs = now.strip_suffix(own).ok_or_else(changed)?;
    file.cut(theirs.len() as u64).and_then(|()| file.sync())?;
    // Another program may have replaced the file by one with what was added.
    if still_holds(disk, name, file, theirs)? { Ok(()) } else { Err(changed()) }
}

fn undecided<D: Disk>(
    disk: &D,
    name: &str,
    doing: &'static str,
) -> impl Fn(std::io::Error) -> BookError {
    let error = failed(disk, name, doing);
    move |source| error(source).undecided()
}
