//! Detects a file that a spreadsheet has open. Rows added to it would be lost when the spreadsheet
//! saves.
//!
//! LibreOffice marks a file that it has open by a file beside it, `.~lock.NAME#`, whose fields are
//! separated by commas. The second field names the person, the fourth the day and hour. (On Windows
//! the system itself refuses to open a file that a spreadsheet holds.)

use super::disk::{Disk, failed};
use crate::book::error::BookError;
use crate::units::shown;

/// Refuses to write to the file `name` while a spreadsheet has it open.
pub(in crate::book) fn refuse_open<D: Disk>(disk: &D, name: &str) -> Result<(), BookError> {
    let mark = format!(".~lock.{name}#");
    let found = disk.read(&mark).map_err(failed(disk, &mark, "checking whether it exists"))?;
    found.map_or(Ok(()), |bytes| {
        Err(BookError::Open {
            path: disk.path(name),
            mark: disk.path(&mark),
            holder: holder(&bytes),
        })
    })
}

/// The person who has the file open, as far as the mark says.
fn holder(mark: &[u8]) -> String {
    /// Longer than any name and hour.
    const LONGEST: usize = 200;
    let mark = String::from_utf8_lossy(&mark[..mark.len().min(LONGEST)]);
    let cells: Vec<&str> = mark.split(',').map(str::trim).collect();
    let cell = |index: usize| cells.get(index).filter(|cell| !cell.is_empty());
    let who = cell(1).or_else(|| cell(0)).map_or("somebody", |who| who);
    match cell(3) {
        Some(since) => format!("{}, since {}", shown(who), shown(since)),
        None => shown(who),
    }
}

#[cfg(test)]
mod tests {
    use super::holder;

    #[test]
    fn the_mark_says_who_and_since_when() {
        let mark = b",ada,bench,14.03.2026 09:12,file:///home/ada/.config;";
        assert_eq!(holder(mark), "ada, since 14.03.2026 09:12");
        assert_eq!(holder(b""), "somebody");
    }
}
