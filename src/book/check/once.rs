//! Finds duplicates of what may occur only once in a file.

use super::faults::Faults;
use crate::book::entries::change::ChangeRow;
use crate::book::entries::held::EntryKind;
use crate::book::entries::record::{Located, place};
use crate::book::entries::table::Record;
use crate::book::location::Location;
use crate::units::in_shares;
use std::collections::BTreeMap;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::ops::Range;

/// Something that may occur only once, for messages: its name, the way out, and the column, if the
/// fault is in one cell.
pub(super) struct Once {
    what: &'static str,
    /// What can be chosen differently; `None` if one of the two rows must go.
    changed: Option<&'static str>,
    column: Option<&'static str>,
}

impl Once {
    /// The number of a form. It cannot be struck.
    pub(super) const SEND_NUMBER: Self =
        Self { what: "send number", changed: None, column: Some(ChangeRow::number.name) };

    pub(super) fn of(kind: EntryKind) -> Self {
        let changed = if kind == EntryKind::Reading { "place" } else { "name" };
        Self { what: kind.word(), changed: Some(changed), column: None }
    }

    /// What to do. If both are rows of `file`, no command can open the book.
    fn way_out(&self, file: &str, is_in_file: bool) -> String {
        match (self.changed, is_in_file) {
            (None, _) => "remove one of the two rows".to_owned(),
            (Some(changed), false) => format!("choose another {changed}, or strike the first"),
            (Some(changed), true) => format!(
                "edit {file}: remove one of the two rows or change its {changed}; or bring back the \
                 row of struck.csv that struck one of them"
            ),
        }
    }
}

/// Adds a fault for each row whose id an earlier row has. There may be millions of rows, so an id
/// is formatted only where two hashes are equal.
pub(super) fn twice<'a, T: Record + Sync, I: Hash + fmt::Display>(
    once: Once,
    rows: &'a [Located<T>],
    id: impl Fn(&'a T) -> I + Sync,
    faults: &mut Faults,
) {
    let id = |row: usize| id(&rows[row].value);
    // The upper half of the hash, with the row number in the lower half. No file has more rows than
    // fit into the lower half.
    let hashed = |row: usize| hash(&id(row)) & !PLACES | row as u64;
    let sorted = |range: Range<usize>| {
        let mut hashes: Vec<u64> = range.map(hashed).collect();
        hashes.sort_unstable();
        hashes
    };
    let is_long = rows.len() >= WORTH_SHARING;
    let mut hashes = if is_long { in_shares(rows.len(), sorted) } else { sorted(0..rows.len()) };
    // This sort only merges stretches that are sorted already.
    hashes.sort();
    let mut again = Vec::new();
    let same = |one: &u64, other: &u64| one & !PLACES == other & !PLACES;
    for alike in hashes.chunk_by(same).filter(|alike| alike.len() > 1) {
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        for row in alike.iter().map(|hashed| (hashed & PLACES) as usize) {
            let first = *seen.entry(id(row).to_string()).or_insert(row);
            again.extend((first != row).then_some((row, first)));
        }
    }
    // In the order of the file.
    again.sort_unstable();
    for (row, first) in again {
        let column = once.column.map(str::to_owned);
        faults.push_with(Location { column, ..place(T::FILE, rows[row].row) }, || {
            let (id, first) = (id(row), place(T::FILE, rows[first].row));
            let way_out = once.way_out(T::FILE.name(), rows[row].row.is_some());
            format!("{} '{id}' already exists ({first}); {way_out}", once.what)
        });
    }
}

/// With fewer rows a second thread does not pay.
const WORTH_SHARING: usize = 65_536;
/// The bits of the row number in [`twice`].
const PLACES: u64 = u32::MAX as u64;

fn hash(id: &impl Hash) -> u64 {
    let mut hasher = Quick::default();
    id.hash(&mut hasher);
    hasher.finish()
}

/// A fast hash without protection against crafted collisions. It needs none: ids with equal hashes
/// are compared as text.
#[derive(Default)]
struct Quick(u64);

impl Hasher for Quick {
    fn write(&mut self, bytes: &[u8]) {
        let (words, rest) = bytes.as_chunks();
        words.iter().for_each(|word| self.write_u64(u64::from_le_bytes(*word)));
        rest.iter().for_each(|byte| self.write_u8(*byte));
    }

    fn write_u8(&mut self, byte: u8) {
        self.write_u64(u64::from(byte));
    }

    fn write_u64(&mut self, word: u64) {
        // The high bits of a product depend on all bits of both factors.
        let product = u128::from(self.0 ^ word ^ 0x9e37_79b9_7f4a_7c15) * 0xa076_1d64_78bd_642f;
        self.0 = (product as u64) ^ (product >> 64) as u64;
    }

    fn finish(&self) -> u64 {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_in_parts_has_the_hash_of_its_words() {
        let of = |write: &dyn Fn(&mut Quick)| {
            let mut hasher = Quick::default();
            write(&mut hasher);
            hasher.finish()
        };
        let whole = of(&|it| it.write(b"T0000001"));
        assert_eq!(whole, of(&|it| it.write_u64(u64::from_le_bytes(*b"T0000001"))));
        assert_ne!(whole, of(&|it| it.write(b"T0000002")));
        assert_ne!(of(&|it| it.write(b"ab")), of(&|it| it.write(b"ba")));
    }

    /// Different ids with the same hash are not duplicates.
    #[test]
    fn a_hash_that_two_ids_share_makes_them_no_twins() {
        #[derive(Clone, Copy)]
        struct Alike<'a>(&'a str);
        impl Hash for Alike<'_> {
            fn hash<H: Hasher>(&self, hasher: &mut H) {
                0.hash(hasher);
            }
        }
        impl fmt::Display for Alike<'_> {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(self.0)
            }
        }
        let target =
            |name: &str| crate::trade::Target::new(name.parse().unwrap(), 1.0, 2.0).unwrap();
        let rows = ["a", "b", "a"].map(|name| Located { value: target(name), row: None });
        let mut faults = Faults::default();
        twice(Once::of(EntryKind::Target), &rows, |row| Alike(row.name.as_str()), &mut faults);
        assert_eq!(faults.found(), 1);
    }
}
