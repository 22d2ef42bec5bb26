use super::held::{Entries, for_each_kind};
use super::table::{Record, Row};
use crate::book::csv::tail::shown;

/// A cell in which two entries differ, as it is written: lengths in mm.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    pub column: &'static str,
    pub was: String,
    pub is: String,
}

/// The differences between the old and new entries, paired by position within each kind.
pub fn differences(old: &Entries, new: &Entries) -> Vec<Difference> {
    let mut all = Vec::new();
    macro_rules! all_of {
        ($($list:ident: $kind:ty, $file:ident;)*) => {
            $(for (old, new) in old.$list.iter().zip(&new.$list) {
                all.extend(of_rows::<$kind>(old, new));
            })*
        };
    }
    for_each_kind!(all_of);
    all
}

pub(super) fn of_rows<T: Record>(old: &T, new: &T) -> Vec<Difference> {
    let (old, new) = (T::Row::of(old), T::Row::of(new));
    let cells = T::Row::COLUMNS.iter().zip(old.values().into_iter().zip(new.values()));
    let cells = cells.map(|(column, (was, is))| Difference {
        column: column.name,
        was: shown(&was),
        is: shown(&is),
    });
    cells.filter(|cell| cell.was != cell.is).collect()
}
