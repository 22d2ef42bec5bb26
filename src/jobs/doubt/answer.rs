//! The doubts about a book: rows that look wrong by themselves, readings with a reduced weight, and
//! trials that are implausible beside the others.

use super::answer_far::{far_from_fit, is_looked_through};
use crate::book::{Book, Entries, Finding, Location, ReadingKey, SetDoubt, Severity, audit};
use crate::jobs::fitted::BenchError;
use crate::observe::{DownWeighted, Observations, observe};
use crate::trade::{Edge, Name, State};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// Adds to the findings of an audit every reading with a reduced weight that they do not name yet.
/// Sorts by file and row.
fn doubts(book: &Book, all: &Observations, mut findings: Vec<Finding>) -> Vec<Finding> {
    let said: BTreeSet<(ReadingKey<'_>, Edge)> = findings.iter().flat_map(blamed).collect();
    let mut readings = all.down_weighted.clone();
    let is_said = |reading: &DownWeighted| said.contains(&(key(reading), reading.edge));
    // If two readings disagree, both lose weight; if one is already blamed, the other is not.
    let beside: BTreeSet<_> = readings.iter().filter(|one| is_said(one)).map(pair).collect();
    readings.retain(|one| !is_said(one) && !beside.contains(&pair(one)));
    let places = book.places_of(readings.iter().map(key));
    let placed = readings.iter().filter_map(|one| Some((places.get(&key(one))?.clone(), one)));
    let more: Vec<Finding> = placed.map(|(place, one)| counts_less(place, one)).collect();
    findings.extend(more);
    findings.sort_by(|left, right| left.place().cmp(right.place()));
    findings
}

/// Like [`doubts`], with the trials whose swell is implausible beside the others. Takes a fit for
/// each trial.
pub(crate) fn all_doubts(book: &Book, findings: Vec<Finding>) -> Result<Vec<Finding>, BenchError> {
    let trials: Vec<&Name> = book.trials().iter().map(|trial| &trial.name).collect();
    doubts_with(book, findings, &trials)
}

/// Like [`all_doubts`], but compares only these trials with the others.
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

/// The doubts about entries that are about to be recorded.
pub(crate) fn doubts_of(book: &Book, new: &Entries, today: Date) -> Vec<Finding> {
    let mut findings = book.doubts_of(new, today);
    let mut touched: Vec<&Name> = new.readings.iter().map(|reading| &reading.trial).collect();
    touched.dedup();
    let touched = unexplained(&touched, &findings);
    // Avoids building the extended book if it is too long to be searched.
    if is_looked_through(book.trials().len() + new.trials.len()) {
        // A failed fit is reported where a fit is asked for; it must not stop readings from being
        // recorded.
        findings.extend(far_from_fit(&book.with(new), &touched).unwrap_or_default());
    }
    findings
}

/// The same without repetitions: a command that takes readings asks about these by itself.
pub(crate) fn doubts_of_taken(book: &Book, new: &Entries, today: Date) -> Vec<Finding> {
    let mut findings = doubts_of(book, new, today);
    findings
        .retain(|finding| !matches!(finding, Finding::Set { doubt: SetDoubt::Repeated(_), .. }));
    findings
}

/// What an answer rests on that nobody has settled yet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Open {
    /// Entries that look wrong.
    pub wrong: usize,
    /// Files changed outside swellbook. The changes may be right, so they are counted apart.
    pub edited: usize,
}

/// Counts what looks wrong, in a book with these observations.
pub(crate) fn open_findings(book: &Book, all: &Observations, today: Date) -> Open {
    let findings = doubts(book, all, audit(book, today));
    let is_of_entry = |finding: &&Finding| match finding {
        Finding::PassedOver(notice) => !notice.is_of_settings(),
        _ => true,
    };
    let open = findings.iter().filter(|finding| finding.severity() == Severity::Check);
    let (edited, wrong): (Vec<&Finding>, Vec<&Finding>) =
        open.filter(is_of_entry).partition(|finding| finding.is_of_an_edit());
    Open { wrong: wrong.len(), edited: edited.len() }
}

/// The trials without another doubt about their readings, so that each fault is reported once.
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
        SetDoubt::SpineThinner { .. } => &Edge::ALL,
        SetDoubt::Outlying { edge, .. } | SetDoubt::Apart { edge, .. } => {
            std::slice::from_ref(edge)
        }
        _ => return Vec::new(),
    };
    let each = |at| edges.iter().map(move |edge| ((trial, *state, at), *edge));
    doubt.places().into_iter().flat_map(each).collect()
}

/// The key that two disagreeing readings of a set share.
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
