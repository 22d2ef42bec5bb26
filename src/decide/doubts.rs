//! What is doubtful in a book: what its rows say by themselves, and what its fit lets count less.

use crate::book::{Book, Finding, SetDoubt};
use crate::observe::{DownWeighted, ObserveError, observe};

/// The findings of an audit and, where they do not say so already, every reading that counts less,
/// in order of file and row.
///
/// # Errors
/// As [`observe`].
pub fn doubts(book: &Book, mut findings: Vec<Finding>) -> Result<Vec<Finding>, ObserveError> {
    for reading in observe(book)?.down_weighted {
        if !findings.iter().any(|finding| says(finding, &reading)) {
            findings.push(counts_less(book, &reading));
        }
    }
    findings.sort_by(|left, right| left.place().cmp(right.place()));
    Ok(findings)
}

/// Whether the finding calls this reading outlying.
fn says(finding: &Finding, reading: &DownWeighted) -> bool {
    match finding {
        Finding::Set { trial, state, doubt: SetDoubt::Outlying { at, edge, .. }, .. } => {
            (trial, *state, at, *edge)
                == (&reading.trial, reading.state, &reading.place, reading.edge)
        }
        Finding::Faulty(_)
        | Finding::Set { .. }
        | Finding::PassedOver(_)
        | Finding::Entry { .. } => false,
    }
}

fn counts_less(book: &Book, reading: &DownWeighted) -> Finding {
    let DownWeighted { trial, state, edge, place, value_mm, weight } = reading.clone();
    let doubt = SetDoubt::CountsLess { at: place.clone(), edge, value_mm, weight };
    let place = book.place_of(&trial, state, &place);
    Finding::Set { place, trial, state, doubt }
}
