//! Trials that were recorded twice, under two names.
//!
//! Two trials with the same facts and the same readings, reading for reading, are one. Readings may
//! be equal by chance; see [`super::repetition`] for the probability. Two blocks differ by more
//! than the places along one spine do, so the deviation along a spine is a cautious one.

use super::doubt::EntryDoubt;
use super::finding::Finding;
use super::repetition::USUAL_MM;
use super::sets::Set;
use crate::book::csv::tail;
use crate::book::entries::held::{Entries, EntryKind};
use crate::book::entries::record::{Standing, place};
use crate::book::entries::table::Record;
use crate::book::opened::Book;
use crate::trade::{Name, Reading, State, Trial};
use std::collections::{BTreeSet, HashMap, HashSet};

/// The most likely that chance may make two trials equal. A book may have many pairs of one day.
const CHANCE: f64 = 1e-4;
/// The most trials that one trial is compared with. More equal ones are not slips of a person.
const COMPARED: usize = 8;
/// With more trials of the same facts and day, none of them is looked at before an entry is written.
const MOST_ALIKE: usize = 100;

/// A reading without its trial: its place, and both edges as the files hold them.
type Values<'a> = (&'a str, tail::Values);

fn values(reading: &Reading) -> Values<'_> {
    (reading.place.as_str(), tail::values(reading))
}

/// Whether two trials are of the same sewing, as far as both say. The dates may be on one only.
fn is_alike(one: &Trial, other: &Trial) -> bool {
    let facts = |it: &Trial| (it.kind, it.sewing, it.boned, it.guards);
    let same_stock = one.paper == other.paper && one.thread == other.thread;
    let same_day = one.date.zip(other.date).is_none_or(|(one, other)| one == other);
    same_stock && same_day && facts(one) == facts(other)
}

/// Finds trials with the readings of an earlier one.
pub(in crate::book) fn twins(book: &Book, sets: &[Set<'_>]) -> Vec<Finding> {
    let step_mm = book.config().resolution.mm();
    let rows: HashMap<&Name, Standing> =
        book.trials().iter().map(|it| &it.name).zip(book.rows.trials.iter().copied()).collect();
    let mut seen: HashMap<(State, usize, Values<'_>), Vec<&[Set<'_>]>> = HashMap::new();
    let mut findings = Vec::new();
    for own in sets.chunk_by(|one, other| one.trial.name == other.trial.name) {
        let keys: Vec<_> = own.iter().filter_map(key).collect();
        let known = keys.iter().filter_map(|key| seen.get(key)).flat_map(|of| of.iter().rev());
        let mut compared = known.take(COMPARED);
        let found = compared.find_map(|other| Some((other, equal(own, other, step_mm)?)));
        if let Some((other, readings)) = found {
            let (name, other) = (own[0].trial.name.clone(), other[0].trial.name.clone());
            let place = place(Trial::FILE, rows.get(&name).copied().flatten());
            let doubt = EntryDoubt::SameReadings { readings, other };
            findings.push(Finding::Entry { place, kind: EntryKind::Trial, name, doubt });
        }
        keys.into_iter().for_each(|key| seen.entry(key).or_default().push(own));
    }
    findings
}

/// What two equal sets have in common, for finding them.
fn key<'a>(set: &Set<'a>) -> Option<(State, usize, Values<'a>)> {
    Some((set.state, set.readings.len(), values(set.readings.first()?.value)))
}

/// The number of readings that two trials share, if each state that both have is the same and
/// chance is an unlikely cause.
fn equal(own: &[Set<'_>], other: &[Set<'_>], step_mm: f64) -> Option<usize> {
    if !is_alike(own[0].trial, other[0].trial) {
        return None;
    }
    let of_both = own.iter().filter_map(|set| {
        let there = other.iter().find(|there| there.state == set.state)?;
        Some((set, there))
    });
    let (mut count, mut chance) = (0, 1.0);
    for (set, there) in of_both {
        let shared: Vec<Values<'_>> = set.readings.iter().map(|row| values(row.value)).collect();
        if !there.readings.iter().map(|row| values(row.value)).eq(shared.iter().copied()) {
            return None;
        }
        count += shared.len();
        chance *= by_chance(shared.iter().map(|(_, edges)| *edges), step_mm);
    }
    (chance <= CHANCE).then_some(count)
}

/// The probability that chance makes other readings equal to these.
fn by_chance(readings: impl Iterator<Item = tail::Values>, step_mm: f64) -> f64 {
    let one = (step_mm / (2.0 * USUAL_MM * std::f64::consts::PI.sqrt())).min(1.0);
    let distinct: BTreeSet<tail::Values> = readings.collect();
    let edges = distinct.iter().flatten().flatten().count();
    one.powi(i32::try_from(edges).unwrap_or(i32::MAX))
}

/// The trials of the book with the facts of those that are `touched` by new entries.
pub(in crate::book) fn alike<'b>(
    book: &'b Book,
    new: &Entries,
    touched: &HashSet<&Name>,
) -> HashSet<&'b Name> {
    let all = || book.trials().iter().chain(&new.trials);
    let of: Vec<&Trial> = all().filter(|trial| touched.contains(&trial.name)).collect();
    let mut alike = HashSet::new();
    for one in of.into_iter().take(MOST_ALIKE) {
        let mut same = book.trials().iter().filter(|other| is_alike(one, other));
        let first: Vec<&Name> = same.by_ref().take(MOST_ALIKE).map(|it| &it.name).collect();
        if same.next().is_none() {
            alike.extend(first);
        }
    }
    alike
}
