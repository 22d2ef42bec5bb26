//! What is doubtful in a book: what its rows say by themselves, what its fit lets count less, and what
//! the fit of the other trials hardly allows.

use super::answer_far::{far_from_fit, is_looked_through};
use crate::book::{Book, Entries, Finding, Location, ReadingKey, SetDoubt, Severity, audit};
use crate::jobs::fitted::BenchError;
use crate::observe::{DownWeighted, Observations, observe};
use crate::trade::{Edge, Name, State};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// The findings of an audit and, where they do not say so already, every reading that counts less
/// in the observations, in order of file and row.
fn doubts(book: &Book, all: &Observations, mut findings: Vec<Finding>) -> Vec<Finding> {
    let said: BTreeSet<(ReadingKey<'_>, Edge)> = findings.iter().flat_map(blamed).collect();
    let mut readings = all.down_weighted.clone();
    let is_said = |reading: &DownWeighted| said.contains(&(key(reading), reading.edge));
    // Of two that disagree both count less; where one is blamed the other is not.
    let beside: BTreeSet<_> = readings.iter().filter(|one| is_said(one)).map(pair).collect();
    readings.retain(|one| !is_said(one) && !beside.contains(&pair(one)));
    let places = book.places_of(readings.iter().map(key));
    let placed = readings.iter().filter_map(|one| Some((places.get(&key(one))?.clone(), one)));
    let more: Vec<Finding> = placed.map(|(place, one)| counts_less(place, one)).collect();
    findings.extend(more);
    findings.sort_by(|left, right| left.place().cmp(right.place()));
    findings
}

/// As [`doubts`], with the trials whose swell the others hardly allow. It takes a fit for each trial.
///
/// # Errors
/// [`BenchError`].
pub(crate) fn all_doubts(book: &Book, findings: Vec<Finding>) -> Result<Vec<Finding>, BenchError> {
    let trials: Vec<&Name> = book.trials().iter().map(|trial| &trial.name).collect();
    doubts_with(book, findings, &trials)
}

/// As [`all_doubts`], with only these trials held against the others.
///
/// # Errors
/// [`BenchError`].
pub(crate) fn doubts_with(
    book: &Book,
    findings: Vec<Finding>,
    trials: &[&Name],
) -> Result<Vec<Finding>, BenchError> {
    let mut findings = doubts(book, &observe(book)?, findings);
    let far = far_from_fit(book, &unexplained(trials, &findings))?;
    findings.extend(far);
    findings.sort_by(|left, right| left.place().cmp(right.place()));
    Ok(findings)
}

/// What is doubtful about entries that are about to be recorded.
pub(crate) fn doubts_of(book: &Book, new: &Entries, today: Date) -> Vec<Finding> {
    let mut findings = book.doubts_of(new, today);
    findings
        .retain(|finding| !matches!(finding, Finding::Set { doubt: SetDoubt::Repeated(_), .. }));
    let mut touched: Vec<&Name> = new.readings.iter().map(|reading| &reading.trial).collect();
    touched.dedup();
    let touched = unexplained(&touched, &findings);
    // A long book is not put together for nothing.
    if is_looked_through(book.trials().len() + new.trials.len()) {
        // A fit that fails is said where a fit is asked for, and readings are not lost for it.
        findings.extend(far_from_fit(&book.with(new), &touched).unwrap_or_default());
    }
    findings
}

/// How many entries of a book with these observations look wrong.
pub(crate) fn open_findings(book: &Book, all: &Observations, today: Date) -> usize {
    let findings = doubts(book, all, audit(book, today));
    let is_of_entry = |finding: &&Finding| match finding {
        Finding::PassedOver(notice) => !notice.is_of_settings(),
        _ => true,
    };
    let open = findings.iter().filter(|finding| finding.severity() == Severity::Check);
    open.filter(is_of_entry).count()
}

/// Those of the trials of whose readings nothing else is doubtful: what is wrong is said once.
fn unexplained<'n>(trials: &[&'n Name], findings: &[Finding]) -> Vec<&'n Name> {
    let doubtful = |finding: &Finding| match finding {
        Finding::Set { trial, .. } if finding.severity() == Severity::Check => Some(trial.clone()),
        _ => None,
    };
    let said: BTreeSet<Name> = findings.iter().filter_map(doubtful).collect();
    trials.iter().filter(|trial| !said.contains(**trial)).copied().collect()
}

/// The readings, and the edges at them, that a finding blames.
fn blamed(finding: &Finding) -> Vec<(ReadingKey<'_>, Edge)> {
    let Finding::Set { trial, state, doubt, .. } = finding else { return Vec::new() };
    let edges: &[Edge] = match doubt {
        SetDoubt::SpineThinner { .. } => &[Edge::Spine, Edge::ForeEdge],
        SetDoubt::Outlying { edge, .. } | SetDoubt::Apart { edge, .. } => {
            std::slice::from_ref(edge)
        }
        _ => return Vec::new(),
    };
    let each = |at| edges.iter().map(move |edge| ((trial, *state, at), *edge));
    doubt.places().into_iter().flat_map(each).collect()
}

/// What the two readings of a set that disagree have in common.
fn pair(one: &DownWeighted) -> (Name, State, Edge, u64) {
    (one.trial.clone(), one.state, one.edge, one.weight.to_bits())
}

fn key(reading: &DownWeighted) -> ReadingKey<'_> {
    (&reading.trial, reading.state, &reading.place)
}

fn counts_less(place: Location, reading: &DownWeighted) -> Finding {
    let DownWeighted { trial, state, edge, place: at, value_mm, weight } = reading.clone();
    Finding::Set { place, trial, state, doubt: SetDoubt::CountsLess { at, edge, value_mm, weight } }
}
