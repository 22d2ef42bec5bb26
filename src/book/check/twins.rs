//! Trials that were recorded twice, under two names.
//!
//! Two trials of one day with the same readings, reading for reading, are one, even if a fact
//! differs: perhaps only their paper has another name. So are two with many equal readings, of
//! which one was given another name and then corrected. Readings may be equal by chance; see
//! [`super::repetition`] for the probability. Two blocks differ by more than the places along
//! one spine do, so the deviation along a spine is a cautious one.

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
use crate::units::in_shares;
use std::collections::{BTreeSet, HashMap, HashSet};

/// The most likely that chance may make two trials equal. A book may have many pairs of one day.
const CHANCE: f64 = 1e-4;
/// The same for trials that differ in their day or in some readings. With a step of 0.01 mm, three
/// places at both edges.
const CHANCE_OF_OTHERS: f64 = 1e-7;
/// The most trials that one trial is compared with. More equal ones are not slips of a person.
const COMPARED: usize = 8;
/// With more trials of the same facts and day, none of them is looked at before an entry is written.
const MOST_ALIKE: usize = 100;

/// A reading without its trial: its place, and both edges as the files hold them.
type Values<'a> = (&'a str, tail::Values);

fn values(reading: &Reading) -> Values<'_> {
    (reading.place.as_str(), tail::values(reading))
}

/// The first fact in which two trials differ, as far as both say; `None` if they are of the same
/// sewing. The dates may be on one only.
fn differing(one: &Trial, other: &Trial) -> Option<&'static str> {
    let same = [
        ("paper", one.paper == other.paper),
        ("thread", one.thread == other.thread),
        ("kind", one.kind == other.kind),
        ("sewing", one.sewing == other.sewing),
        ("boning", one.boned == other.boned),
        ("guards", one.guards == other.guards),
        ("date", is_of_one_day(one, other)),
    ];
    same.into_iter().find_map(|(fact, same)| (!same).then_some(fact))
}

/// Whether two trials may be of one day: a day may be missing.
fn is_of_one_day(one: &Trial, other: &Trial) -> bool {
    one.date.zip(other.date).is_none_or(|(one, other)| one == other)
}

/// Finds trials with the readings of an earlier one.
pub(in crate::book) fn twins(book: &Book, sets: &[Set<'_>]) -> Vec<Finding> {
    let step_mm = book.config().resolution.mm();
    let rows: HashMap<&Name, Standing> =
        book.trials().iter().map(|it| &it.name).zip(book.rows.trials.iter().copied()).collect();
    let of_trials: Vec<Candidates<'_, '_>> = candidates(sets);
    in_shares(of_trials.len(), |range| {
        let twin = |of: &Candidates<'_, '_>| twin(of, step_mm, &rows);
        of_trials[range].iter().filter_map(twin).collect()
    })
}

/// The sets of a trial, and those of earlier trials to compare with.
struct Candidates<'s, 'a> {
    own: &'s [Set<'a>],
    earlier: Vec<&'s [Set<'a>]>,
}

fn candidates<'s, 'a>(sets: &'s [Set<'a>]) -> Vec<Candidates<'s, 'a>> {
    let mut seen: HashMap<(State, Values<'_>), Vec<&'s [Set<'a>]>> = HashMap::new();
    let of_trials = sets.chunk_by(|one, other| one.trial.name == other.trial.name);
    let one = |own: &'s [Set<'a>]| {
        let keys: BTreeSet<_> = own.iter().flat_map(keys).collect();
        let known = keys.iter().filter_map(|key| seen.get(key)).flat_map(|of| of.iter().rev());
        let earlier = known.take(COMPARED).copied().collect();
        keys.into_iter().for_each(|key| seen.entry(key).or_default().push(own));
        Candidates { own, earlier }
    };
    of_trials.map(one).collect()
}

fn twin(
    Candidates { own, earlier }: &Candidates<'_, '_>,
    step_mm: f64,
    rows: &HashMap<&Name, Standing>,
) -> Option<Finding> {
    let compared = earlier.iter().filter_map(|other| {
        let differing = differing(own[0].trial, other[0].trial);
        Some((differing, other[0].trial, equal(own, other, step_mm)?))
    });
    // The first of those that differ least.
    let least = |(differing, _, (equal, of)): &(Option<_>, _, (usize, usize))| {
        (differing.is_some(), of - equal)
    };
    let (differing, other, (readings, of)) = compared.min_by_key(least)?;
    let (name, other) = (own[0].trial.name.clone(), other.name.clone());
    let place = place(Trial::FILE, rows.get(&name).copied().flatten());
    let doubt = EntryDoubt::SameReadings { readings, of, other, differing };
    Some(Finding::Entry { place, kind: EntryKind::Trial, name, doubt })
}

/// What two equal sets have in common, for finding them: their first readings, or their last if
/// another was corrected.
fn keys<'a>(set: &Set<'a>) -> impl Iterator<Item = (State, Values<'a>)> + use<'a> {
    let ends = [set.readings.first(), set.readings.last()];
    ends.map(|row| row.map(|row| (set.state, values(row.value)))).into_iter().flatten()
}

/// The number of readings that two trials share, and of all in the states that both have. `None` if
/// chance may be the cause, or if they share fewer than half.
fn equal(own: &[Set<'_>], other: &[Set<'_>], step_mm: f64) -> Option<(usize, usize)> {
    let of_both = own.iter().filter_map(|set| {
        let there = other.iter().find(|there| there.state == set.state)?;
        Some((set, there))
    });
    let (mut count, mut of, mut chance) = (0, 0, 1.0);
    for (set, there) in of_both {
        let mut found: Vec<Values<'_>> =
            there.readings.iter().map(|row| values(row.value)).collect();
        found.sort_unstable();
        let shared = set.readings.iter().map(|row| values(row.value));
        let shared: Vec<Values<'_>> =
            shared.filter(|reading| found.binary_search(reading).is_ok()).collect();
        count += shared.len();
        of += set.readings.len().max(there.readings.len());
        chance *= by_chance(shared.iter().map(|(_, edges)| *edges), step_mm);
    }
    let is_same = count == of && is_of_one_day(own[0].trial, other[0].trial);
    let most = if is_same { CHANCE } else { CHANCE_OF_OTHERS };
    (chance <= most && 2 * count >= of).then_some((count, of))
}

/// The probability that chance makes other readings equal to these.
fn by_chance(readings: impl Iterator<Item = tail::Values>, step_mm: f64) -> f64 {
    let one = (step_mm / (2.0 * USUAL_MM * std::f64::consts::PI.sqrt())).min(1.0);
    let distinct: BTreeSet<tail::Values> = readings.collect();
    let edges = distinct.iter().flatten().flatten().count();
    one.powi(i32::try_from(edges).unwrap_or(i32::MAX))
}

/// The trials of the book with the facts of those that are `touched` by new entries, or with one of
/// their readings.
pub(in crate::book) fn alike<'b>(
    book: &'b Book,
    new: &Entries,
    touched: &HashSet<&Name>,
) -> HashSet<&'b Name> {
    let all = || book.trials().iter().chain(&new.trials);
    let of = all().filter(|trial| touched.contains(&trial.name));
    let of: Vec<&Trial> = of.take(MOST_ALIKE).collect();
    let mut alike = with_reading(book, new, &of);
    for one in of {
        let mut same = book.trials().iter().filter(|other| differing(one, other).is_none());
        let first: Vec<&Name> = same.by_ref().take(MOST_ALIKE).map(|it| &it.name).collect();
        if same.next().is_none() {
            alike.extend(first);
        }
    }
    alike
}

/// The trials of the book with the first or the last of the new readings of these, in its state and
/// at its place.
fn with_reading<'b>(book: &'b Book, new: &Entries, of: &[&Trial]) -> HashSet<&'b Name> {
    let of: HashSet<&Name> = of.iter().map(|trial| &trial.name).collect();
    let mut ends: HashMap<(&Name, State), [&Reading; 2]> = HashMap::new();
    for reading in new.readings.iter().filter(|reading| of.contains(&reading.trial)) {
        ends.entry((&reading.trial, reading.state)).or_insert([reading; 2])[1] = reading;
    }
    let new: HashSet<_> = ends.values().flatten().map(|it| (it.state, values(it))).collect();
    let is_new = |it: &&Reading| !new.is_empty() && new.contains(&(it.state, values(it)));
    let mut found = HashSet::new();
    for reading in book.readings().iter().filter(is_new) {
        if found.len() == MOST_ALIKE {
            break;
        }
        found.insert(&reading.trial);
    }
    found
}
