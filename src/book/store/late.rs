//! Makes files that a book does not have before their first row.
//!
//! Each is made with its header only, whole and at once, before the command is decided. If the
//! program is stopped, a file without rows remains, which is harmless.

use super::commit::commit;
use super::disk::{Disk, failed};
use super::open::Opened;
use crate::book::entries::contents::{FileBytes, Rows};
use crate::book::entries::held::Entries;
use crate::book::entries::tables::first_line;
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;

/// Adds, in memory, the files that `entries` need and `files` lack. They are to be made with their
/// first rows.
pub(in crate::book) fn begin(files: &mut FileBytes, entries: &Entries) -> Vec<BookFile> {
    let late = BookFile::ALL.into_iter().filter(|file| file.is_made_late());
    add_missing(files, late.filter(|file| entries.count_of(*file) > 0))
}

fn add_missing(files: &mut FileBytes, needed: impl Iterator<Item = BookFile>) -> Vec<BookFile> {
    let late: Vec<BookFile> = needed.filter(|file| !files.rows.contains_key(file)).collect();
    files.rows.extend(late.iter().map(|file| (*file, first_line(*file))));
    late
}

/// Like [`commit`], but makes the files `late` first. If nothing is kept, they are removed again.
pub(in crate::book) fn commit_late<D: Disk>(
    disk: &D,
    opened: &Opened,
    late: &[BookFile],
    tails: Rows,
) -> Result<Vec<Notice>, BookError> {
    let mut ours = Vec::new();
    let made = late.iter().try_for_each(|file| make(disk, *file, &mut ours));
    let committed = made.and_then(|()| commit(disk, opened, tails));
    committed.inspect_err(|error| {
        // A journal may be there, and the next command then needs these files to finish.
        if !error.is_undecided() {
            ours.iter().for_each(|name| disk.remove(name));
        }
    })
}

const MAKING: &str = "making it";

/// Makes the file, as private as the readings, and syncs its name, because a journal may name it.
/// Files to remove on failure are noted in `ours`. A file that another program made meanwhile is
/// not ours, and the commit refuses it.
fn make<D: Disk>(disk: &D, file: BookFile, ours: &mut Vec<&'static str>) -> Result<(), BookError> {
    let name = file.name();
    if disk.read(name).map_err(failed(disk, name, MAKING))?.is_some() {
        return Ok(());
    }
    ours.push(name);
    let made = disk.replace(name, &first_line(file), BookFile::Readings.name());
    made.and_then(|()| disk.sync_folder()).map_err(failed(disk, name, MAKING))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::store::open::{read, read_to_write};
    use crate::book::store::power_cuts;
    use crate::book::store::simulated::{Fault, Left, Simulated};

    /// The files, each with the row that is added to it.
    const LATE: [(BookFile, &[u8]); 2] = [
        (BookFile::Plans, b"ledger,2026-03-01,\"paper=A,thread=B,sections=9,sheets=4\"\n"),
        (BookFile::Changes, b"2026-03-01,recorded trial T2,,,0123456789abcdef0123456789abcdef\n"),
    ];

    fn files(disk: &Simulated) -> FileBytes {
        let mut files = power_cuts::files(disk);
        let late = LATE.iter().filter_map(|(file, _)| Some((*file, disk.bytes(file.name())?)));
        files.rows.extend(late);
        files
    }

    /// Adds the rows of a form, its number and a plan. The files of the last two may be missing.
    fn write(disk: &Simulated, tails: Rows) -> Result<Vec<Notice>, BookError> {
        let mut opened = read_to_write(disk, files(disk))?;
        let late = tails.keys().copied().filter(|file| file.is_made_late());
        let late = add_missing(&mut opened.files, late);
        commit_late(disk, &opened, &late, tails)
    }

    fn tails() -> Rows {
        let mut tails = power_cuts::tails();
        tails.extend(LATE.map(|(file, row)| (file, row.to_vec())));
        tails
    }

    /// Whether the rows and the number are all there. Otherwise none of them may be.
    #[track_caller]
    fn is_written(disk: &Simulated, case: &str) -> bool {
        disk.set(None);
        let seen = read(disk, files(disk)).expect(case).rows;
        write(disk, Rows::new()).expect(case);
        assert_eq!(files(disk).rows, seen, "{case}: what was read is what is then on the disk");
        let mut rows = seen;
        let mut added = Vec::new();
        for (file, row) in LATE {
            let bytes = rows.remove(&file).unwrap_or_else(|| first_line(file));
            let of_form = bytes.strip_prefix(&first_line(file)[..]).expect(case);
            assert!(of_form == row || of_form.is_empty(), "{case}: {file:?}");
            added.push(!of_form.is_empty());
        }
        let whole = rows == power_cuts::new() && !added.contains(&false);
        let is_left = rows == power_cuts::old() && !added.contains(&true);
        assert!(whole || is_left, "{case}: {added:?} {rows:?}");
        whole
    }

    fn steps() -> usize {
        let disk = power_cuts::disk(&power_cuts::old(), false);
        write(&disk, tails()).expect("nothing goes wrong");
        let steps = disk.done();
        assert!(is_written(&disk, "nothing goes wrong"));
        steps
    }

    #[test]
    fn a_number_is_there_with_its_rows_or_not_at_all_wherever_the_power_goes() {
        let mut outcomes = [0, 0];
        for step in 0..=steps() {
            for left in Left::ALL {
                let case = format!("step {step}, {left:?}");
                let disk =
                    power_cuts::disk(&power_cuts::old(), false).failing(Fault::PowerCut(step));
                let kept = write(&disk, tails()).is_ok();
                let disk = disk.after_power_cut(left);
                let written = is_written(&disk, &case);
                assert!(written || !kept, "{case}: what was kept is gone");
                outcomes[usize::from(written)] += 1;
                if !written {
                    write(&disk, tails()).expect(&case);
                    assert!(is_written(&disk, &case), "{case}: the form that is sent again");
                }
            }
        }
        assert!(outcomes.iter().all(|count| *count > 10), "{outcomes:?}");
    }

    #[test]
    fn what_is_said_of_a_number_is_true_whatever_fails() {
        for step in 0..steps() {
            for fault in [Fault::Once(step), Fault::FromHere(step), Fault::SyncsFrom(step)] {
                let case = format!("{fault:?}");
                let disk = power_cuts::disk(&power_cuts::old(), false).failing(fault);
                let said = write(&disk, tails());
                // A disk that refuses everything also refuses to remove the file.
                let left_alone = LATE.iter().all(|(file, _)| disk.bytes(file.name()).is_none());
                let written = is_written(&disk, &case);
                match said {
                    Ok(_) => assert!(written, "{case}: what was kept is gone"),
                    Err(error) if error.is_undecided() => {}
                    Err(error) => {
                        assert!(!written, "{case}, {error}");
                        let cannot = matches!(fault, Fault::FromHere(_));
                        assert!(left_alone || cannot, "{case}, {error}: an empty file stays");
                    }
                }
            }
        }
    }
}
