//! Collects faults: counts all of them and keeps the first ones of each file.

use crate::book::error::{BookError, Fault};
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::units::LengthUnit;
use std::collections::BTreeMap;
use std::fmt::Display;

/// The most faults listed for one file. A person fixes a handful and looks again. A file of another
/// kind may have a fault in every cell, which must not fill the memory.
const MOST: usize = 200;

#[derive(Clone, Debug, Default)]
pub(in crate::book) struct Faults {
    files: BTreeMap<String, OfFile>,
    found: usize,
    unit: LengthUnit,
}

/// The faults of files that are being read, and the notices about them.
#[derive(Debug, Default)]
pub(in crate::book) struct Messages {
    pub(in crate::book) faults: Faults,
    pub(in crate::book) notices: Vec<Notice>,
}

impl Messages {
    /// None yet. Faults will give lengths in this unit.
    pub(in crate::book) fn in_unit(unit: LengthUnit) -> Self {
        Self { faults: Faults::in_unit(unit), notices: Vec::new() }
    }
}

#[derive(Clone, Debug, Default)]
struct OfFile {
    /// Ordered by place, then by the order of finding.
    kept: BTreeMap<(Location, usize), String>,
    /// `left_out` counts the faults that were not kept; `from` is the place of the first of them.
    left_out: usize,
    from: Option<Location>,
}

impl Faults {
    /// An empty list, whose faults will give lengths in this unit.
    pub(in crate::book) fn in_unit(unit: LengthUnit) -> Self {
        Self { unit, ..Self::default() }
    }

    pub(in crate::book) fn unit(&self) -> LengthUnit {
        self.unit
    }

    pub(in crate::book) fn push(&mut self, fault: Fault) {
        self.push_with(fault.place, || fault.message);
    }

    pub(in crate::book) fn add(&mut self, place: Location, message: impl Display) {
        self.push_with(place, || message.to_string());
    }

    /// Adds a fault. The message is built only if the fault is kept.
    pub(in crate::book) fn push_with(&mut self, place: Location, message: impl FnOnce() -> String) {
        self.found += 1;
        let file = self.files.entry(place.file.clone()).or_default();
        file.push(place, self.found, message);
    }

    /// The number of faults found, kept or not.
    pub(in crate::book) fn found(&self) -> usize {
        self.found
    }

    pub(in crate::book) fn is_empty(&self) -> bool {
        self.found == 0
    }

    /// Whether some faults of `file` were left out. Then checking its rows further is useless.
    pub(in crate::book) fn is_over(&self, file: &str) -> bool {
        self.files.get(file).is_some_and(|file| file.left_out > 0)
    }

    /// `Ok` if there are no faults.
    pub(in crate::book) fn refuse(self) -> Result<(), BookError> {
        if self.is_empty() { Ok(()) } else { Err(BookError::Faults { faults: self.listed() }) }
    }

    /// The faults in order of file, row and column. The last fault of a file counts those left out.
    pub(in crate::book) fn listed(self) -> Vec<Fault> {
        self.files.into_values().flat_map(OfFile::listed).collect()
    }
}

impl OfFile {
    /// Adds a fault. `number` counts the faults in the order of finding.
    fn push(&mut self, place: Location, number: usize, message: impl FnOnce() -> String) {
        let key = (place, number);
        let last = self.kept.last_key_value().filter(|_| self.kept.len() == MOST);
        let dropped = if last.is_some_and(|(last, _)| *last < key) {
            key
        } else {
            self.kept.insert(key, message());
            if self.kept.len() <= MOST {
                return;
            }
            let Some((dropped, _)) = self.kept.pop_last() else { return };
            dropped
        };
        self.left_out += 1;
        if self.from.as_ref().is_none_or(|from| dropped.0 < *from) {
            self.from = Some(dropped.0);
        }
    }

    fn listed(self) -> Vec<Fault> {
        let faults = self.kept.into_iter().map(|((place, _), message)| Fault { place, message });
        let mut faults: Vec<Fault> = faults.collect();
        faults.extend(self.from.map(|place| {
            let place = Location { column: None, ..place };
            let more = self.left_out;
            let noun = if more == 1 { "fault" } else { "faults" };
            Fault::new(place, format!("{more} more {noun} from here on; fix these first"))
        }));
        faults
    }
}

impl Extend<Fault> for Faults {
    fn extend<I: IntoIterator<Item = Fault>>(&mut self, faults: I) {
        for fault in faults {
            self.push(fault);
        }
    }
}

impl Faults {
    /// Adds the faults of another list, counting also those that it did not keep.
    pub(in crate::book) fn absorb(&mut self, other: Self) {
        for (name, file) in other.files {
            self.found += file.left_out;
            let mine = self.files.entry(name).or_default();
            mine.left_out += file.left_out;
            mine.from = mine.from.take().into_iter().chain(file.from).min();
            for ((place, _), message) in file.kept {
                self.found += 1;
                mine.push(place, self.found, || message);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed(rows: impl IntoIterator<Item = usize>) -> Vec<String> {
        let mut faults = Faults::default();
        faults.extend(rows.into_iter().map(|row| Fault::new(Location::row("x.csv", row), "bad")));
        faults.listed().iter().map(|fault| fault.to_string()).collect()
    }

    #[test]
    fn the_first_of_a_file_are_listed_in_order_and_the_others_counted() {
        assert_eq!(listed([3, 1, 2]), ["x.csv:1: bad", "x.csv:2: bad", "x.csv:3: bad"]);
        assert_eq!(listed(1..=200).len(), 200);
        for rows in [(1..=1000).collect::<Vec<_>>(), (1..=1000).rev().collect()] {
            let found = listed(rows);
            assert_eq!((found.len(), found[199].as_str()), (201, "x.csv:200: bad"));
            assert_eq!(found[200], "x.csv:201: 800 more faults from here on; fix these first");
        }
        assert!(listed(1..=201)[200].contains(": 1 more fault from here on"));
    }

    #[test]
    fn lists_put_together_count_what_neither_keeps() {
        let of = |rows: std::ops::Range<usize>| {
            let mut faults = Faults::default();
            faults.extend(rows.map(|row| Fault::new(Location::row("x.csv", row), "bad")));
            faults
        };
        let mut both = of(300..700);
        both.absorb(of(1..301));
        assert_eq!(both.found(), 700);
        let found: Vec<Fault> = both.listed();
        assert_eq!((found.len(), found[199].place.row), (201, Some(200)));
        assert!(found[200].to_string().starts_with("x.csv:201: 500 more"));
    }
}
