//! What is doubtful in a book but possible: a person decides, nothing is dropped.

mod finding;
mod readings;
mod sets;
mod stock;

pub use finding::{EntryDoubt, Finding, SetDoubt, Severity};

use super::Book;
use jiff::civil::Date;

/// Everything doubtful in `book`, in order of file and row. `today` tells which dates are ahead.
pub fn audit(book: &Book, today: Date) -> Vec<Finding> {
    let passed_over = book.notices().iter().cloned().map(Finding::PassedOver);
    let mut findings: Vec<Finding> = passed_over.collect();
    let sets = sets::sets(book);
    findings.extend(stock::papers(book));
    findings.extend(stock::threads(book));
    findings.extend(stock::trials(book, &sets, today));
    findings.extend(stock::alike(book));
    findings.extend(readings::of_sets(book, &sets));
    findings.extend(readings::outlying(&sets));
    findings.sort_by(|left, right| left.place().cmp(right.place()));
    findings
}
