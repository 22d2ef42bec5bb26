//! Finds what looks wrong about an entry.

use crate::book::{Book, EntryKind, Finding, Severity, audit};
use crate::jobs::doubt::answer::doubts_with;
use crate::jobs::fitted::BenchError;
use crate::trade::Name;
use crate::units::fields_of;
use jiff::civil::Date;

#[derive(Clone, Debug)]
pub(crate) struct Doubt {
    pub severity: Severity,
    /// The sentence, with lengths in the unit of the book.
    pub message: String,
}

fields_of! { Doubt, |it|
    "severity": it.severity.word(), "message": it.message,
}

/// What looks wrong about the wanted entries, which include these trials.
pub(super) fn doubts(
    book: &Book,
    today: Date,
    trials: &[&Name],
    wanted: impl Fn(EntryKind, &Name) -> bool,
) -> Result<Vec<Doubt>, BenchError> {
    let findings = doubts_with(book, audit(book, today), trials)?;
    let said = |finding: &Finding| Doubt {
        severity: finding.severity(),
        message: finding.sentence(book.config().unit),
    };
    Ok(findings.iter().filter(|finding| is_about(finding, &wanted)).map(said).collect())
}

pub(crate) fn is_about(finding: &Finding, wanted: impl Fn(EntryKind, &Name) -> bool) -> bool {
    match finding {
        Finding::Set { trial, .. } => wanted(EntryKind::Trial, trial),
        Finding::Entry { kind, name, .. } => wanted(*kind, name),
        Finding::Faulty(_) | Finding::PassedOver(_) => false,
    }
}
