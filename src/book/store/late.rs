//! A file that a book does not have before its first row.
//!
//! It is made with its header and nothing else, whole and at once, before the command is decided. A
//! program that is stopped then leaves a file without rows, which says nothing.

use super::commit::commit;
use super::disk::{Disk, failed};
use super::met::Opened;
use super::rows::Rows;
use crate::book::entries::contents::FileBytes;
use crate::book::entries::held::Entries;
use crate::book::entries::tables::header;
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;

/// A file that is to be made with its first row.
#[derive(Clone, Copy, Debug)]
pub(in crate::book) struct Late(BookFile);

/// Begins, in memory, the file that `entries` need and `files` lack.
pub(in crate::book) fn begin(files: &mut FileBytes, entries: &Entries) -> Option<Late> {
    let needed = !entries.changes.is_empty() && !files.rows.contains_key(&BookFile::Changes);
    let late = needed.then_some(Late(BookFile::Changes))?;
    files.rows.insert(late.0, first_line(late.0));
    Some(late)
}

fn first_line(file: BookFile) -> Vec<u8> {
    (header(file) + "\n").into_bytes()
}

/// As [`commit`], which finds `late` made. Where nothing is kept it is taken away again.
///
/// # Errors
/// As [`commit`].
pub(in crate::book) fn commit_late<D: Disk>(
    disk: &D,
    opened: &Opened,
    late: Option<Late>,
    tails: Rows,
) -> Result<Vec<Notice>, BookError> {
    let Some(Late(file)) = late else { return commit(disk, opened, tails) };
    let name = file.name();
    // One that somebody has put there meanwhile is theirs, and the commit refuses it.
    let theirs = disk.read(name).map_err(failed(disk, name, MAKING))?.is_some();
    let made = if theirs { Ok(()) } else { make(disk, file) };
    let committed = made.and_then(|()| commit(disk, opened, tails));
    committed.inspect_err(|error| {
        // While a journal may be there, the next command needs the file to finish.
        if !theirs && !error.is_undecided() {
            disk.remove(name);
        }
    })
}

const MAKING: &str = "making it";

/// Makes the file, as private as the readings, and its name lasting: a journal may name it.
fn make<D: Disk>(disk: &D, file: BookFile) -> Result<(), BookError> {
    let name = file.name();
    let made = disk.replace(name, &first_line(file), BookFile::Readings.name());
    made.and_then(|()| disk.sync_folder()).map_err(failed(disk, name, MAKING))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::store::open::{read, read_to_write};
    use crate::book::store::power_cuts;
    use crate::book::store::simulated::{Fault, Left, Simulated};

    const ROW: &[u8] = b"2026-03-01,recorded trial T2,,,0123456789abcdef0123456789abcdef\n";

    fn files(disk: &Simulated) -> FileBytes {
        let mut files = power_cuts::files(disk);
        files.rows.extend(disk.bytes("changes.csv").map(|bytes| (BookFile::Changes, bytes)));
        files
    }

    /// Adds the rows of a form, and its number to a file that may not be there.
    fn write(disk: &Simulated, tails: Rows) -> Result<Vec<Notice>, BookError> {
        let mut opened = read_to_write(disk, files(disk))?;
        let is_new = tails.contains_key(&BookFile::Changes)
            && !opened.files.rows.contains_key(&BookFile::Changes);
        let late = is_new.then_some(Late(BookFile::Changes));
        late.map(|Late(file)| opened.files.rows.insert(file, first_line(file)));
        commit_late(disk, &opened, late, tails)
    }

    fn tails() -> Rows {
        let mut tails = power_cuts::tails();
        tails.insert(BookFile::Changes, ROW.to_vec());
        tails
    }

    /// Whether the rows and the number are all there; none of them otherwise.
    #[track_caller]
    fn is_written(disk: &Simulated, case: &str) -> bool {
        disk.set(None);
        let seen = read(disk, files(disk)).expect(case).rows;
        write(disk, Rows::new()).expect(case);
        assert_eq!(files(disk).rows, seen, "{case}: what was read is what is then on the disk");
        let mut rows = seen;
        let sent = rows.remove(&BookFile::Changes).unwrap_or_else(|| first_line(BookFile::Changes));
        let of_form = sent.strip_prefix(&first_line(BookFile::Changes)[..]).expect(case);
        let whole = rows == power_cuts::new() && of_form == ROW;
        assert!(whole || (rows == power_cuts::old() && of_form.is_empty()), "{case}: {rows:?}");
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
                let disk = power_cuts::disk(&power_cuts::old(), false);
                disk.set(Some(Fault::PowerCut(step)));
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
                let disk = power_cuts::disk(&power_cuts::old(), false);
                disk.set(Some(fault));
                let said = write(&disk, tails());
                // A disk that refuses everything refuses to take the file away too.
                let left_alone = disk.bytes("changes.csv").is_none();
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
