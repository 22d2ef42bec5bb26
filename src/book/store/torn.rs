//! A last line that was cut off, by a copy that stopped half-way or a disk that lost the end of a
//! file. (The program's own writes leave none: see the journal.)
//!
//! It is never read as a row, because `24.3` may have been `24.31`. The next command that writes
//! sets it aside in a file of its own, and keeps a backup of the whole file.

use super::digests::{Stamp, lines};
use super::disk::{Disk, Growing, failed};
use crate::book::csv::columns::Kind;
use crate::book::csv::scan::scan;
use crate::book::csv::table::delimiter_of;
use crate::book::entries::contents::{Rows, bytes_of};
use crate::book::entries::tables::columns_of;
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::notice::Notice;
use std::io;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Torn {
    pub(in crate::book) file: BookFile,
    /// The length of what is whole.
    pub(in crate::book) at: usize,
}

impl Torn {
    fn place(&self, rows: &Rows) -> Location {
        let whole = bytes_of(rows, self.file).get(..self.at);
        let row = usize::try_from(lines(whole.unwrap_or_default())).unwrap_or(usize::MAX);
        Location::row(self.file.name(), row.saturating_add(1))
    }

    /// The notice while the line is still in its file.
    pub(in crate::book) fn notice(&self, rows: &Rows) -> Notice {
        Notice::CutOff { place: self.place(rows), aside: aside(self.file) }
    }
}

/// The file for lines cut off from `file`.
pub(in crate::book) fn aside(file: BookFile) -> String {
    format!("{}.set-aside.csv", file.stem())
}

/// The last line of `bytes` if it was cut off: it has no line end, and it lacks fields or is not
/// text. A line with all fields may be a person's, who need not end it. But if it ends in a number
/// or a day and the file is shorter than after the program's last write, digits may be missing.
pub(in crate::book) fn torn(file: BookFile, bytes: &[u8], known: Option<&Stamp>) -> Option<Torn> {
    let at = 1 + bytes.iter().rposition(|byte| matches!(byte, b'\n' | b'\r'))?;
    let (whole, tail) = bytes.split_at(at);
    let whole = text(whole)?;
    if tail.iter().all(u8::is_ascii_whitespace) {
        return None;
    }
    let shorter = known.is_some_and(|stamp| (bytes.len() as u64) < stamp.bytes);
    let cut = text(tail).is_none_or(|tail| {
        shorter && may_lack_digits(file, whole, tail) || lacks_fields(whole, tail)
    });
    // Within quotation marks, a line end does not end a row.
    let ends_a_row = || scan(whole, delimiter_of(whole)).open_quote.is_none();
    (cut && ends_a_row()).then_some(Torn { file, at })
}

fn text(bytes: &[u8]) -> Option<&str> {
    std::str::from_utf8(bytes).ok().filter(|text| !text.contains('\0'))
}

/// Whether the last cell of `tail` is a number, or a day with fewer digits than the program writes.
fn may_lack_digits(file: BookFile, whole: &str, tail: &str) -> bool {
    let last = |text: &str| fields(text, delimiter_of(whole)).pop().unwrap_or_default();
    let (name, cell) = (last(whole), last(tail));
    let is_open = |kind| match kind {
        Kind::Decimal | Kind::Whole => true,
        Kind::Date => cell.len() < "2026-03-14".len(),
        Kind::Words(_) | Kind::YesNo | Kind::Text | Kind::Note => false,
    };
    let mut columns = columns_of(file).iter();
    columns.any(|it| is_open(it.kind) && name.trim().eq_ignore_ascii_case(it.name))
}

/// The fields of the first row of `text`.
fn fields(text: &str, delimiter: u8) -> Vec<String> {
    let mut builder = csv::ReaderBuilder::new();
    builder.delimiter(delimiter).has_headers(false).flexible(true);
    let first = builder.from_reader(text.as_bytes()).records().next();
    let record = first.and_then(Result::ok).unwrap_or_default();
    record.iter().map(str::to_owned).collect()
}

/// Whether `tail` has fewer fields than the header of `whole`, or leaves a quotation mark open.
fn lacks_fields(whole: &str, tail: &str) -> bool {
    let delimiter = delimiter_of(whole);
    let fewer = fields(tail, delimiter).len() < fields(whole, delimiter).len();
    fewer || scan(tail, delimiter).open_quote.is_some()
}

/// Moves the torn lines out of the files, on the disk and in memory. Each line goes to a file of
/// its own, and the original file to a backup. The notices say where.
///
/// # Errors
/// [`BookError::Io`], also if a file was edited meanwhile. Nothing is lost then, and what was made
/// is removed again.
pub(in crate::book) fn set_aside<D: Disk>(
    disk: &D,
    torn: &[Torn],
    rows: &mut Rows,
) -> Result<Vec<Notice>, BookError> {
    let mut notices = Vec::new();
    for torn @ Torn { file, at } in torn {
        let (place, aside) = (torn.place(rows), aside(*file));
        let whole = rows.entry(*file).or_default();
        let backup = free_backup(disk, *file)?;
        let is_new = disk.read(&aside).map_err(failed(disk, &aside, "reading"))?.is_none();
        let copied = copy_out(disk, torn, whole, &backup);
        let mut open = copied.inspect_err(|_| {
            // The line is still in its file.
            disk.remove(&backup);
            if is_new {
                disk.remove(&aside);
            }
        })?;
        let cut = open.cut(*at as u64).and_then(|()| open.sync());
        cut.map_err(failed(disk, file.name(), "moving its last line aside"))?;
        whole.truncate(*at);
        notices.push(Notice::SetAside { place, aside, backup });
    }
    Ok(notices)
}

/// Saves a torn line, and a backup of the file with the contents `whole`. Returns the file, opened
/// to be cut.
fn copy_out<D: Disk>(
    disk: &D,
    Torn { file, at }: &Torn,
    whole: &[u8],
    backup: &str,
) -> Result<D::File, BookError> {
    let name = file.name();
    disk.replace(backup, whole, name).and_then(|()| disk.sync_folder()).map_err(failed(
        disk,
        backup,
        "keeping a copy of the file",
    ))?;
    add_lasting(disk, &aside(*file), name, whole.get(*at..).unwrap_or_default())?;
    let error = failed(disk, name, "moving its last line aside");
    let open = disk.open(name).map_err(&error)?;
    if still_holds(disk, name, &open, whole).map_err(&error)? {
        Ok(open)
    } else {
        Err(error(changed()))
    }
}

/// Whether `name` leads to the open file and holds `whole`. This must be the last check before the
/// file is cut or overwritten: another program may be adding to it.
pub(in crate::book) fn still_holds<D: Disk>(
    disk: &D,
    name: &str,
    open: &D::File,
    whole: &[u8],
) -> io::Result<bool> {
    Ok(disk.leads_to(name, open)? && disk.read(name)?.as_deref() == Some(whole))
}

/// The error if a file was edited between two checks.
pub(in crate::book) fn changed() -> io::Error {
    io::Error::other("it was changed meanwhile; try again")
}

/// The first free name for a backup of `file`.
fn free_backup<D: Disk>(disk: &D, file: BookFile) -> Result<String, BookError> {
    for number in 1_u32.. {
        let name = format!("{}.backup-{number}.csv", file.stem());
        let there = disk.read(&name);
        if there.map_err(failed(disk, &name, "looking for a free name"))?.is_none() {
            return Ok(name);
        }
    }
    unreachable!("there are more numbers than files")
}

/// Adds `bytes` and a line end to the file `name`, and syncs it. The file is not more open to
/// others than `like`.
pub(in crate::book) fn add_lasting<D: Disk>(
    disk: &D,
    name: &str,
    like: &str,
    bytes: &[u8],
) -> Result<(), BookError> {
    let mut line = bytes.to_vec();
    if !line.ends_with(b"\n") {
        line.push(b'\n');
    }
    let add = || {
        let mut there = disk.read(name)?.unwrap_or_default();
        // Written by a command that was stopped before it had done the rest.
        let is_there = there.strip_suffix(&line[..]);
        if !is_there.is_some_and(|before| before.is_empty() || before.ends_with(b"\n")) {
            there.extend_from_slice(&line);
        }
        disk.hide(name, like);
        disk.replace(name, &there, like)?;
        disk.sync_folder()
    };
    add().map_err(failed(disk, name, "writing to it"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "trial,state,place,note\n";

    fn at(tail: &[u8], known: Option<Stamp>) -> Option<usize> {
        let bytes = [HEADER.as_bytes(), tail].concat();
        torn(BookFile::Readings, &bytes, known.as_ref()).map(|torn| torn.at - HEADER.len())
    }

    #[test]
    fn a_last_line_that_lacks_fields_and_its_end_was_cut_off() {
        assert_eq!(at(b"T1,sewn,1,\nT1,se", None), Some(11));
        assert_eq!(at(b"T1,sewn,1,\"a", None), Some(0));
        assert_eq!(at(b"T1,sewn,1,\n\0\0\0\0", None), Some(11));
        assert_eq!(at(b"T1,sewn,1,\xc3", None), Some(0));
    }

    #[test]
    fn a_line_typed_without_its_end_counts() {
        assert_eq!(at(b"T1,sewn,1,x", None), None);
        assert_eq!(at(b"T1,sewn,1,\n  ", None), None);
        assert_eq!(at(b"", None), None);
        assert_eq!(torn(BookFile::Readings, b"trial,sta", None), None);
    }

    #[test]
    fn a_number_at_the_very_end_of_a_file_that_lost_its_end_may_lack_digits() {
        let known = Stamp::of(&[b'x'; 100]);
        let last = |header: &str, tail: &str| {
            let bytes = format!("{header}\n{tail}");
            torn(BookFile::Readings, bytes.as_bytes(), Some(&known)).is_some()
        };
        assert!(last("trial,Spine_mm", "T1,24.3"));
        assert!(!last("trial,Spine_mm", "T1,24.3\n"));
        assert!(!last("trial,note", "T1,24.3"), "a person may have taken rows out");
    }

    #[test]
    fn a_line_end_within_quotation_marks_ends_no_row() {
        assert_eq!(at(b"T1,sewn,1,\"a\nb", None), None);
    }
}
