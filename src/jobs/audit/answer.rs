//! What is doubtful in a book: what its rows say by themselves, and what its fit lets count less.

use crate::book::{Book, Finding, Location, ReadingKey, SetDoubt};
use crate::observe::{DownWeighted, ObserveError, observe};
use crate::trade::Edge;
use std::collections::BTreeSet;

/// The findings of an audit and, where they do not say so already, every reading that counts less,
/// in order of file and row.
///
/// # Errors
/// As [`observe`].
pub fn doubts(book: &Book, mut findings: Vec<Finding>) -> Result<Vec<Finding>, ObserveError> {
    let said: BTreeSet<(ReadingKey<'_>, Edge)> = findings.iter().filter_map(outlying).collect();
    let mut readings = observe(book)?.down_weighted;
    readings.retain(|reading| !said.contains(&(key(reading), reading.edge)));
    let places = book.places_of(readings.iter().map(key));
    let placed = readings.iter().filter_map(|one| Some((places.get(&key(one))?.clone(), one)));
    let more: Vec<Finding> = placed.map(|(place, one)| counts_less(place, one)).collect();
    findings.extend(more);
    findings.sort_by(|left, right| left.place().cmp(right.place()));
    Ok(findings)
}

/// The reading and the edge that a finding calls outlying.
fn outlying(finding: &Finding) -> Option<(ReadingKey<'_>, Edge)> {
    match finding {
        Finding::Set { trial, state, doubt: SetDoubt::Outlying { at, edge, .. }, .. } => {
            Some(((trial, *state, at), *edge))
        }
        Finding::Faulty(_)
        | Finding::Set { .. }
        | Finding::PassedOver(_)
        | Finding::Entry { .. } => None,
    }
}

fn key(reading: &DownWeighted) -> ReadingKey<'_> {
    (&reading.trial, reading.state, &reading.place)
}

fn counts_less(place: Location, reading: &DownWeighted) -> Finding {
    let DownWeighted { trial, state, edge, place: at, value_mm, weight } = reading.clone();
    Finding::Set { place, trial, state, doubt: SetDoubt::CountsLess { at, edge, value_mm, weight } }
}
