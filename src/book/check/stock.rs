//! Doubts about papers, threads, trials and their names.

use super::finding::{EntryDoubt, Finding};
use super::sets::Set;
use crate::book::entries::held::EntryKind;
use crate::book::entries::record::{Located, located};
use crate::book::entries::resolve::place;
use crate::book::entries::table::Record;
use crate::book::opened::Book;
use crate::trade::{Name, Paper, Thread, Trial};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

/// The bulk of papers in cm³/g: from supercalendered to the loftiest (common practice, no source).
const BULK: RangeInclusive<f64> = 0.6..=2.5;

/// The findings about each row of `rows` by itself.
fn each<T: Record>(
    (kind, rows): (EntryKind, (&[T], &[Option<usize>])),
    name: impl Fn(&T) -> &Name,
    doubts: impl Fn(&T) -> Vec<EntryDoubt>,
) -> Vec<Finding> {
    let found = |row: Located<&T>| {
        let (place, name) = (place(T::FILE, row.row), name(row.value).clone());
        let finding =
            move |doubt| Finding::Entry { place: place.clone(), kind, name: name.clone(), doubt };
        doubts(row.value).into_iter().map(finding).collect::<Vec<_>>()
    };
    located(rows.0, rows.1).flat_map(found).collect()
}

/// Papers that no trial uses, or whose caliper and grammage hardly go together.
pub(in crate::book) fn papers(book: &Book) -> Vec<Finding> {
    let used: BTreeSet<&Name> = book.trials().iter().map(|trial| &trial.paper).collect();
    let rows = (EntryKind::Paper, (&book.live.papers[..], &book.rows.papers[..]));
    each(
        rows,
        |paper| &paper.name,
        |paper| {
            let used = used.contains(&paper.name);
            bulk(paper).into_iter().chain((!used).then_some(EntryDoubt::Unused)).collect()
        },
    )
}

fn bulk(paper: &Paper) -> Option<EntryDoubt> {
    let bulk = 1000.0 * paper.caliper().mm() / paper.grammage?.gsm();
    (!BULK.contains(&bulk)).then_some(EntryDoubt::Bulk(bulk))
}

/// Threads that no trial uses, or whose diameter and count hardly go together.
pub(in crate::book) fn threads(book: &Book) -> Vec<Finding> {
    let used: BTreeSet<&Name> = book.trials().iter().map(|trial| &trial.thread).collect();
    let rows = (EntryKind::Thread, (&book.live.threads[..], &book.rows.threads[..]));
    each(
        rows,
        |thread| &thread.name,
        |thread| {
            let used = used.contains(&thread.name);
            diameter(thread).into_iter().chain((!used).then_some(EntryDoubt::Unused)).collect()
        },
    )
}

fn diameter(thread: &Thread) -> Option<EntryDoubt> {
    thread.disagreement()?;
    let (laid_mm, count_mm) = (thread.laid()?.mm(), thread.diameter_from_count()?.mm());
    Some(EntryDoubt::Diameter { laid_mm, count_mm })
}

/// Trials without readings, without a date or with one after `today`, or without a hand in a
/// book where others name theirs.
pub(in crate::book) fn trials(book: &Book, sets: &[Set<'_>], today: Date) -> Vec<Finding> {
    let hands = book.trials().iter().any(|trial| trial.hand.is_some());
    let measured: BTreeSet<&Name> = sets.iter().map(|set| &set.trial.name).collect();
    let rows = (EntryKind::Trial, (&book.live.trials[..], &book.rows.trials[..]));
    each(
        rows,
        |trial| &trial.name,
        |trial: &Trial| {
            let measured = measured.contains(&trial.name);
            let date = match trial.date {
                None => Some(EntryDoubt::NoDate),
                Some(date) => (date > today).then_some(EntryDoubt::DateAhead(date)),
            };
            let hand = (hands && trial.hand.is_none()).then_some(EntryDoubt::NoHand);
            let readings = (!measured).then_some(EntryDoubt::NoReadings);
            date.into_iter().chain(hand).chain(readings).collect()
        },
    )
}

/// Names of one kind that differ only in capitals or spaces.
pub(in crate::book) fn alike(book: &Book) -> Vec<Finding> {
    let (live, rows) = (&book.live, &book.rows);
    let papers = alike_of(EntryKind::Paper, (&live.papers, &rows.papers), |paper| &paper.name);
    let threads =
        alike_of(EntryKind::Thread, (&live.threads, &rows.threads), |thread| &thread.name);
    let targets =
        alike_of(EntryKind::Target, (&live.targets, &rows.targets), |target| &target.name);
    let trials = alike_of(EntryKind::Trial, (&live.trials, &rows.trials), |trial| &trial.name);
    papers.into_iter().chain(threads).chain(targets).chain(trials).collect()
}

fn alike_of<T: Record>(
    kind: EntryKind,
    (values, rows): (&[T], &[Option<usize>]),
    name: impl Fn(&T) -> &Name,
) -> Vec<Finding> {
    let mut seen: BTreeMap<String, &Name> = BTreeMap::new();
    let mut findings = Vec::new();
    for row in located(values, rows) {
        let name = name(row.value);
        let plain: String = name.as_str().to_lowercase().split_whitespace().collect();
        if let Some(other) = seen.get(&plain) {
            let (place, doubt) = (place(T::FILE, row.row), EntryDoubt::AlikeTo((*other).clone()));
            findings.push(Finding::Entry { place, kind, name: name.clone(), doubt });
        } else {
            seen.insert(plain, name);
        }
    }
    findings
}
