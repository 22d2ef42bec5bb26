//! Readings that were recorded twice.
//!
//! A repeated command gets the next free numbers. So the same readings are in the book under other
//! places and count double. A run of readings can repeat an earlier one of the same trial and
//! state. Both must have the same values at each edge, in the same order, taken on the same day.
//!
//! Readings may be equal by chance, more often with a coarser gauge and a more even block. Suppose
//! that thickness varies normally with the standard deviation `s`. Then two readings fall on the
//! same step of the gauge with a probability of about `step / (2 s sqrt(pi))`. That is the step
//! times the density at zero of a difference with the variance `2 s^2`.
//!
//! `s` comes from the other readings of the trial and state at the edge, if there are three. It is
//! never more than is usual along a spine, and never less than that of the step itself. Equal
//! readings in one run are counted once: a block whose places all read the same repeats itself
//! without being recorded twice.
//!
//! A run counts as a repetition if the probability that chance makes it is at most one in a
//! thousand. That probability is summed over all positions where the run could repeat something.
//! With a step of 0.01 mm and the usual deviation this takes three values, so two readings of both
//! edges or three of one edge. With 0.001 mm one reading of both edges is enough; with 0.05 mm it
//! takes three of both.
//!
//! A repeated command leaves a run that directly follows what it repeats. There is only one such
//! position, so a chance of one in two hundred is enough to ask. With a step of 0.01 mm this is one
//! reading of both edges. An audit reports it as good to know.

use crate::book::csv::tail::{Values, values};
use crate::book::opened::Book;
use crate::trade::{Place, Reading};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::ops::Range;

/// The standard deviation of readings along one spine, in mm (common practice, no source).
pub(super) const USUAL_MM: f64 = 0.05;
/// How many other readings are needed to estimate their own deviation.
const ENOUGH: usize = 3;
/// A run with at most this probability by chance is a repetition.
const CHANCE: f64 = 1e-3;
/// A run with at most this probability by chance may be a repetition, if it directly follows what
/// it repeats.
const DOUBTFUL: f64 = 5e-3;
/// The longest run considered: more places than anyone measures along a spine.
const LONGEST: usize = 1000;

/// Readings of one trial in one state that repeat those at other places.
#[derive(Clone, Debug, PartialEq)]
pub struct Repetition {
    /// The places of the later readings.
    pub places: Vec<Place>,
    /// The places that they repeat, in the same order.
    pub of: Vec<Place>,
    /// Whether they may be equal by chance.
    pub perhaps_chance: bool,
}

impl fmt::Display for Repetition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (places, of) = (listed(&self.places), listed(&self.of));
        match self.places.len() {
            1 => write!(f, "place {places} repeats place {of} at every edge measured"),
            _ => write!(f, "places {places} repeat places {of} reading for reading"),
        }
    }
}

/// The names in one line. A long list is shortened to its first and last name.
fn listed(places: &[Place]) -> String {
    const MOST: usize = 12;
    match places {
        [first, .., last] if places.len() > MOST => format!("{first} to {last}"),
        _ => places.iter().map(Place::as_str).collect::<Vec<_>>().join(", "),
    }
}

impl Book {
    /// The run of readings in the book that `readings`, of one trial in one state, repeat. Readings
    /// at the same places as `readings` are ignored. So the answer is the same before and after
    /// writing.
    pub fn repeated(&self, readings: &[Reading]) -> Option<Repetition> {
        let first = readings.first()?;
        let own: BTreeSet<&Place> = readings.iter().map(|reading| &reading.place).collect();
        let other = |reading: &&Reading| {
            (&reading.trial, reading.state) == (&first.trial, first.state)
                && !own.contains(&reading.place)
        };
        let there: Vec<&Reading> = self.readings().iter().filter(other).collect();
        let keys: Vec<Key<'_>> = readings.iter().map(key).collect();
        let others: Vec<Key<'_>> = there.iter().map(|reading| key(reading)).collect();
        let chance = Odds::of(&others, self.config().resolution.mm()).of_more(&keys);
        let same = |run: &&[&Reading]| run.iter().zip(&keys).all(|(one, other)| key(one) == *other);
        let mut runs = there.windows(keys.len());
        let anywhere = runs.len() as f64 * chance <= CHANCE;
        let directly = runs.clone().next_back().filter(|run| chance <= DOUBTFUL && same(run));
        let of = directly.or_else(|| runs.find(same).filter(|_| anywhere))?;
        let (places, of) = (places(readings), places(of.iter().copied()));
        Some(Repetition { places, of, perhaps_chance: directly.is_some() && chance > CHANCE })
    }
}

fn places<'r>(readings: impl IntoIterator<Item = &'r Reading>) -> Vec<Place> {
    readings.into_iter().map(|reading| reading.place.clone()).collect()
}

/// What repeated readings have in common: both edges, and the day if there is one. Comparing empty
/// texts took most of the time of a long import.
type Key<'r> = (Values, Option<&'r str>);

fn key(reading: &Reading) -> Key<'_> {
    (values(reading), Some(&*reading.taken).filter(|day| !day.is_empty()))
}

/// Sums over the readings of an edge, from which readings can be removed. `sum` and `squares` are
/// of the differences from the first reading.
#[derive(Clone, Copy, Default)]
struct Sums {
    first: Option<f64>,
    count: usize,
    sum: f64,
    squares: f64,
}

impl Sums {
    fn and(self, length_mm: f64) -> Self {
        let first = self.first.unwrap_or(length_mm);
        let more = length_mm - first;
        Self {
            first: Some(first),
            count: self.count + 1,
            sum: self.sum + more,
            squares: self.squares + more * more,
        }
    }

    fn without(self, lengths_mm: impl Iterator<Item = f64>) -> Self {
        let out = lengths_mm.fold(Self { first: self.first, ..Self::default() }, Self::and);
        let (sum, squares) = (self.sum - out.sum, self.squares - out.squares);
        Self { first: self.first, count: self.count - out.count, sum, squares }
    }

    /// The standard deviation, at most the usual one. With too few readings it is the usual one.
    fn deviation(self) -> f64 {
        if self.count < ENOUGH {
            return USUAL_MM;
        }
        let count = self.count as f64;
        let squares = self.squares - self.sum * self.sum / count;
        (squares.max(0.0) / (count - 1.0)).sqrt().min(USUAL_MM)
    }
}

/// The readings of an edge in millimetres. Edge 0 is the spine.
fn lengths<'k>(keys: &'k [Key<'_>], edge: usize) -> impl Iterator<Item = f64> + 'k {
    keys.iter().filter_map(move |(edges, _)| edges[edge]).map(f64::from_bits)
}

/// How often chance makes readings of one trial in one state equal.
struct Odds {
    edges: [Sums; 2],
    step_mm: f64,
}

impl Odds {
    fn of(keys: &[Key<'_>], step_mm: f64) -> Self {
        let edges = [0, 1].map(|edge| lengths(keys, edge).fold(Sums::default(), Sums::and));
        Self { edges, step_mm }
    }

    /// The probability that chance repeats `run`, which is among these readings. The deviation
    /// comes from the others: readings that occur twice would make it too small.
    fn of_twice(&self, run: &[Key<'_>]) -> f64 {
        let others = [0, 1].map(|edge| self.edges[edge].without(lengths(run, edge)));
        Self { edges: others, ..*self }.of_more(run)
    }

    /// The probability that chance repeats `run`.
    fn of_more(&self, run: &[Key<'_>]) -> f64 {
        // The standard deviation of a uniform distribution over one step.
        let least = self.step_mm / 12.0_f64.sqrt();
        let one = |sums: Sums| {
            let spread = sums.deviation().max(least);
            (self.step_mm / (2.0 * spread * std::f64::consts::PI.sqrt())).min(1.0)
        };
        let odds = self.edges.map(one);
        let distinct: BTreeSet<&Key<'_>> = run.iter().collect();
        let equal = |(edges, _): &Key<'_>| -> f64 {
            edges.iter().zip(odds).filter_map(|(edge, odds)| edge.map(|_| odds)).product()
        };
        distinct.into_iter().map(equal).product()
    }

    /// Whether chance is an unlikely cause of this run, which repeats the run `back` readings
    /// before.
    fn tell(&self, keys: &[Key<'_>], run: &Range<usize>, back: usize) -> bool {
        let likes = if back == run.len() { 1 } else { run.start + 1 - run.len() };
        likes as f64 * self.of_twice(&keys[run.clone()]) <= CHANCE
    }
}

/// The repetitions among `rows`, each with the index of its first reading. `rows` are the readings
/// of one trial in one state, in the order of the file.
pub(in crate::book) fn repetitions(rows: &[&Reading], step_mm: f64) -> Vec<(usize, Repetition)> {
    let keys: Vec<Key<'_>> = rows.iter().map(|row| key(row)).collect();
    let odds = Odds::of(&keys, step_mm);
    let telling = telling_runs(&keys, &odds);
    let doubtful = doubtful_runs(&keys, &odds, &telling);
    let all = telling.into_iter().map(|run| (run, false));
    let all = all.chain(doubtful.into_iter().map(|run| (run, true)));
    let mut found: Vec<_> = all
        .map(|((run, back), perhaps_chance)| {
            let at = |run: Range<usize>| places(rows[run].iter().copied());
            let of = at(run.start - back..run.end - back);
            (run.start, Repetition { places: at(run), of, perhaps_chance })
        })
        .collect();
    found.sort_by_key(|(first, _)| *first);
    found
}

/// The runs that chance is unlikely to have made, and how far back the readings are that each
/// repeats.
///
/// If several earlier readings are equal to one, the last of them is followed, so one pass is
/// enough. When a run ends, it is extended backwards before it is judged.
fn telling_runs(keys: &[Key<'_>], odds: &Odds) -> Vec<(Range<usize>, usize)> {
    let mut last: BTreeMap<&Key<'_>, usize> = BTreeMap::new();
    let (mut run, mut floor, mut found) = (None, 0, Vec::new());
    for end in 0..=keys.len() {
        let now = keys.get(end);
        let follows = |(start, back)| end - start < back && now == keys.get(end - back);
        if !run.is_some_and(follows) {
            if let Some((start, back)) = run {
                let whole = followed_back(keys, start..end, back, floor);
                if odds.tell(keys, &whole, back) {
                    found.push((whole, back));
                    floor = end;
                }
            }
            run = now.and_then(|now| Some((end, end - last.get(now)?)));
        }
        if let Some(now) = now {
            last.insert(now, end);
        }
    }
    found
}

/// The runs that may be chance and directly follow what they repeat, except those in `telling`.
fn doubtful_runs(
    keys: &[Key<'_>],
    odds: &Odds,
    telling: &[(Range<usize>, usize)],
) -> Vec<(Range<usize>, usize)> {
    /// With any gauge that a binder has, longer runs are already in `telling`.
    const LONGEST: usize = 8;
    // The runs in `telling` are in order and do not overlap.
    let apart = |run: &Range<usize>| {
        let next = telling.partition_point(|(other, _)| other.end <= run.start);
        telling.get(next).is_none_or(|(other, _)| run.end <= other.start)
    };
    let mut found: Vec<(Range<usize>, usize)> = Vec::new();
    for start in 1..keys.len() {
        let runs =
            (1..=LONGEST.min(start).min(keys.len() - start)).map(|length| start..start + length);
        // Once a reading occurs again, it does so in every longer run.
        let distinct =
            runs.take_while(|run| !keys[start..run.end - 1].contains(&keys[run.end - 1]));
        let mut runs = distinct.filter(|run| {
            let own = &keys[run.clone()];
            *own == keys[run.start - run.len()..run.start]
                && odds.of_twice(own) <= DOUBTFUL
                && !goes_on(keys, run)
        });
        let free = found.last().is_none_or(|(last, _)| last.end <= start);
        found.extend(
            runs.next().filter(|run| free && apart(run)).map(|run| (run.clone(), run.len())),
        );
    }
    found
}

/// Whether what is repeated occurs a third time, directly before or after. Such a block reads the
/// same everywhere, which the audit reports separately.
fn goes_on(keys: &[Key<'_>], run: &Range<usize>) -> bool {
    let length = run.len();
    let twice_before = run.start.checked_sub(2 * length).map(|at| &keys[at..at + length]);
    let after = keys.get(run.end..run.end + length);
    [twice_before, after].into_iter().flatten().any(|other| *other == keys[run.clone()])
}

/// Extends a run backwards while the readings repeat those `back` before, down to `floor`. It never
/// gets so long that it would repeat itself.
fn followed_back(keys: &[Key<'_>], run: Range<usize>, back: usize, floor: usize) -> Range<usize> {
    let longest = back.min(LONGEST);
    let lowest = run.end.saturating_sub(longest).max(floor).max(back);
    let before = (lowest..run.start).rev().take_while(|at| keys[*at] == keys[*at - back]);
    before.last().unwrap_or(run.start)..run.end
}

#[cfg(test)]
mod tests;
