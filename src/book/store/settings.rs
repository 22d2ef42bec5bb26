//! Writes the pool of beliefs into `book.toml`.
//!
//! The whole file is written beside the old one and replaces it at once. So wherever the program is
//! stopped, the file is the old or the new one, and no journal is needed. The digests are prepared
//! before that. Prepared digests count if they fit the file ([`digests::read`]). So no false edit
//! is reported, whichever of the two files is found.

use super::digests;
use super::digests::{Digests, Sha256, Stamp};
use super::disk::{Disk, Folder, failed};
use super::folder::{read_still_files, require_book};
use super::journal::JOURNAL;
use super::lock::lock_to_write;
use super::open::{Opened, read_to_write};
use super::plain::has_another_name;
use crate::book::entries::contents::FileBytes;
use crate::book::error::BookError;
use crate::book::files::names::SETTINGS;
use crate::book::files::pool_file::ChosenPool;
use crate::book::files::pool_table::read_pool_file;
use crate::book::files::settings_edit::with_pool;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::book::opened::Book;
use jiff::civil::Date;
use std::path::Path;

/// The pool in these bytes of the file `name`, chosen on `day`.
pub fn chosen_pool(bytes: &[u8], name: &str, day: Date) -> Result<ChosenPool, BookError> {
    let pool = read_pool_file(bytes, name)?;
    let sha256 = Sha256::of(bytes).to_string();
    Ok(ChosenPool { file: name.to_owned(), sha256, chosen: day.to_string(), pool })
}

impl Book {
    /// Starts the book's beliefs from this pool, or from common practice. Every other line of
    /// `book.toml` stays as it is.
    ///
    /// # Errors
    /// [`BookError`] if reading, changing or writing the settings fails; the book is then as it
    /// was.
    pub fn choose_pool(&mut self, pool: Option<&ChosenPool>) -> Result<(), BookError> {
        self.choose(pool).map_err(BookError::unkept)
    }

    fn choose(&mut self, pool: Option<&ChosenPool>) -> Result<(), BookError> {
        require_book(&self.dir)?;
        let _lock = lock_to_write(&self.dir)?;
        refuse_link(&self.dir)?;
        let disk = Folder(&self.dir);
        let opened = read_to_write(&disk, read_still_files(&self.dir)?)?;
        refuse_part(&opened)?;
        let settings = with_pool(&opened.files.settings, pool)?;
        // Refuse to write settings that would not open.
        let after = FileBytes { settings, ..opened.files.clone() };
        let mut book = Self::from_files(&self.dir, &after)?;
        book.notices.extend(replace(&disk, &opened, &after.settings)?);
        *self = book;
        Ok(())
    }
}

/// Refuses settings behind a link: a new file would replace the link.
fn refuse_link(dir: &Path) -> Result<(), BookError> {
    let there = dir.join(SETTINGS).symlink_metadata();
    if there.is_ok_and(|there| there.is_file() && !has_another_name(&there)) {
        return Ok(());
    }
    let message = "this is a link, or a file with a second name, which swellbook does not change; \
                   put a copy of the file in its place";
    Err(BookError::fault(Location::file(SETTINGS), message))
}

/// Refuses settings that may be incomplete: once rewritten, they would count as complete.
fn refuse_part(opened: &Opened) -> Result<(), BookError> {
    let part = opened.files.notices.iter().find(|it| matches!(it, Notice::Shorter { .. }));
    part.map_or(Ok(()), |notice| Err(BookError::Clash(notice.to_string())))
}

/// Replaces the settings that were read by these. The notice reports what else the binder should
/// know.
///
/// # Errors
/// [`BookError::Clash`] if they were edited meanwhile; [`BookError::Io`]. They are then as they
/// were. [`BookError::Undecided`] if that is not known.
fn replace<D: Disk>(
    disk: &D,
    opened: &Opened,
    settings: &[u8],
) -> Result<Option<Notice>, BookError> {
    if settings == opened.files.settings {
        return Ok(None);
    }
    let stamp = Some(Stamp::of(settings));
    digests::prepare(disk, &Digests { settings: stamp, ..opened.digests.clone() })?;
    let put = prepare(disk, opened, settings).and_then(|()| {
        disk.put(SETTINGS).map_err(failed(disk, SETTINGS, "putting it in its place"))
    });
    if let Err(error) = put {
        disk.discard(SETTINGS);
        disk.discard(digests::DIGESTS);
        return Err(error);
    }
    let synced = disk.sync_folder().map_err(failed(disk, SETTINGS, "syncing the folder"));
    synced.map_err(BookError::undecided)?;
    let untidy = |error: BookError| Notice::Untidy {
        place: Location::file(JOURNAL),
        why: error.to_string(),
    };
    Ok(digests::put(disk).err().map(untidy))
}

/// Writes the new settings beside the old ones. The check that the old ones are still as they were
/// read is the last step before they are replaced.
fn prepare<D: Disk>(disk: &D, opened: &Opened, settings: &[u8]) -> Result<(), BookError> {
    let error = failed(disk, SETTINGS, "writing it");
    disk.prepare(SETTINGS, settings, SETTINGS).map_err(&error)?;
    match disk.read(SETTINGS).map_err(&error)? {
        Some(now) if now == opened.files.settings => Ok(()),
        _ => {
            let message = format!("{SETTINGS} was changed meanwhile; nothing was saved; try again");
            Err(BookError::Clash(message))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::store::power_cuts::{files, old};
    use crate::book::store::simulated::{Fault, Left, Simulated};

    const OLD: &[u8] = b"format = 1\n";
    const NEW: &[u8] = b"format = 1\n\n[pool]\n";

    fn disk() -> Simulated {
        let rows = old();
        let own = digests::encode(&Digests::of(OLD, &rows));
        let files = rows.iter().map(|(file, bytes)| (file.name(), bytes.as_slice()));
        let others = [(SETTINGS, OLD), (JOURNAL, &b""[..]), (digests::DIGESTS, own.as_slice())];
        Simulated::with(files.chain(others))
    }

    fn files_of(disk: &Simulated) -> FileBytes {
        FileBytes { settings: disk.bytes(SETTINGS).expect("settings"), ..files(disk) }
    }

    fn write(disk: &Simulated) -> Result<Option<Notice>, BookError> {
        let settings = OLD.to_vec();
        let opened = read_to_write(disk, FileBytes { settings, ..files(disk) })?;
        replace(disk, &opened, NEW)
    }

    /// Whether the new settings are there; otherwise the old ones are. Checks that no edit is
    /// reported.
    #[track_caller]
    fn is_written(disk: &Simulated, case: &str) -> bool {
        disk.set(None);
        let files = files_of(disk);
        let seen = files.settings.clone();
        assert!(seen == OLD || seen == NEW, "{case}: {seen:?}");
        // The settings here are incomplete, so only their digest is checked.
        let digests = digests::read(disk, &files).expect(case);
        assert!(digests.settings.is_some_and(|stamp| stamp.fits(&seen)), "{case}: an edit");
        seen == NEW
    }

    fn steps() -> usize {
        let disk = disk();
        assert_eq!(write(&disk).expect("nothing goes wrong"), None);
        let steps = disk.done();
        assert!(is_written(&disk, "nothing goes wrong"));
        steps
    }

    #[test]
    fn settings_are_the_old_or_the_new_ones_wherever_the_power_goes() {
        let mut outcomes = [0, 0];
        for step in 0..=steps() {
            for left in Left::ALL {
                let case = format!("step {step}, {left:?}");
                let disk = disk().failing(Fault::PowerCut(step));
                let kept = write(&disk).is_ok();
                let written = is_written(&disk.after_power_cut(left), &case);
                assert!(written || !kept, "{case}: what was kept is gone");
                outcomes[usize::from(written)] += 1;
            }
        }
        assert!(outcomes.iter().all(|count| *count > 3), "{outcomes:?}");
    }

    #[test]
    fn what_is_said_of_settings_is_true_whatever_fails() {
        for step in 0..steps() {
            for fault in [Fault::Once(step), Fault::FromHere(step), Fault::SyncsFrom(step)] {
                let case = format!("{fault:?}");
                let disk = disk().failing(fault);
                let said = write(&disk);
                let written = is_written(&disk, &case);
                match said {
                    Ok(_) => assert!(written, "{case}: what was kept is gone"),
                    Err(error) if error.is_undecided() => {}
                    Err(error) => assert!(!written, "{case}, {error}"),
                }
            }
        }
    }

    #[test]
    fn settings_that_somebody_changes_meanwhile_are_left_alone() {
        let edits = |disk: &Simulated| disk.edit(SETTINGS, b"format = 1\n# mine\n");
        let mut refused = 0;
        for step in 0..steps() {
            let disk = disk().failing(Fault::Hand(step, edits, None));
            let said = write(&disk);
            disk.set(None);
            let there = disk.bytes(SETTINGS).expect("settings");
            match said {
                Err(error) => {
                    refused += 1;
                    assert!(error.to_string().contains("changed meanwhile"), "{error}");
                    assert_eq!(there, b"format = 1\n# mine\n", "step {step}");
                }
                // Edited between the check and the rename, or after everything was done.
                Ok(_) => assert!(there == NEW || there.ends_with(b"mine\n"), "step {step}"),
            }
        }
        assert!(refused > 2, "{refused}");
    }
}
