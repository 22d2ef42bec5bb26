//! Doubts about readings.

use super::finding::{Finding, SetDoubt};
use super::repetition::repetitions;
use super::sets::{Set, reading_place};
use crate::book::location::Location;
use crate::book::opened::Book;
use crate::trade::{Edge, Name, State, median};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// A mean fore-edge over leaves × caliper beyond which one of the numbers is likely wrong: paper
/// lies a few per cent looser than its caliper (common practice, no source).
const FORE_EDGE_RATIO: RangeInclusive<f64> = 0.75..=1.25;
/// A reading closer to the others than this, in mm, is never called outlying: places differ.
const OUTLYING_MM: f64 = 0.5;
/// Nor one within this many median deviations; 4 are about 2.7 standard deviations.
const OUTLYING_DEVIATIONS: f64 = 4.0;
/// From how many places on it is odd that all read the same.
const EQUAL_PLACES: usize = 3;

const EDGES: [Edge; 2] = [Edge::Spine, Edge::ForeEdge];

fn finding(set: &Set<'_>, place: Location, doubt: SetDoubt) -> Finding {
    Finding::Set { place, trial: set.trial.name.clone(), state: set.state, doubt }
}

/// What is doubtful in each set by itself, and between a trial's states.
pub(in crate::book) fn of_sets(book: &Book, sets: &[Set<'_>]) -> Vec<Finding> {
    let step = book.config().resolution.mm();
    let mut findings = Vec::new();
    let sewn = sets.iter().filter(|set| set.state == State::Sewn);
    let sewn: BTreeMap<&Name, f64> =
        sewn.filter_map(|set| Some((&set.trial.name, set.swell()?))).collect();
    for set in sets {
        findings.extend(thin_spines(set));
        findings.extend(repeated(set, step));
        let before = sewn.get(&set.trial.name).copied();
        let doubts =
            [fore_edge_far(set), edges(set), all_equal(set), swell_grew(set, before, step)];
        findings.extend(doubts.into_iter().flatten().map(|doubt| finding(set, set.place(), doubt)));
    }
    findings
}

fn thin_spines(set: &Set<'_>) -> Vec<Finding> {
    let threaded = set.readings.iter().filter(|_| set.state.has_thread());
    let thin = threaded.filter_map(|row| {
        let reading = &row.value;
        let (spine_mm, fore_edge_mm) = (reading.spine()?.mm(), reading.fore_edge()?.mm());
        let doubt = SetDoubt::SpineThinner { at: reading.place.clone(), spine_mm, fore_edge_mm };
        (spine_mm < fore_edge_mm).then(|| finding(set, reading_place(row), doubt))
    });
    thin.collect()
}

fn repeated(set: &Set<'_>, step: f64) -> Vec<Finding> {
    let readings: Vec<_> = set.readings.iter().map(|row| row.value).collect();
    let found = repetitions(&readings, step).into_iter();
    let place = |index: usize| reading_place(&set.readings[index]);
    found.map(|(index, found)| finding(set, place(index), SetDoubt::Repeated(found))).collect()
}

fn fore_edge_far(set: &Set<'_>) -> Option<SetDoubt> {
    let leaves_mm = f64::from(set.trial.sewing.leaves()) * set.paper?.caliper().mm();
    let mean_mm = set.mean(Edge::ForeEdge)?;
    let far = !FORE_EDGE_RATIO.contains(&(mean_mm / leaves_mm));
    far.then_some(SetDoubt::ForeEdgeFar { mean_mm, leaves_mm })
}

/// One edge only, or one place only.
fn edges(set: &Set<'_>) -> Option<SetDoubt> {
    match EDGES.map(|edge| set.mean(edge).is_some()) {
        [true, false] => Some(SetDoubt::OneEdge(Edge::Spine)),
        [false, true] => Some(SetDoubt::OneEdge(Edge::ForeEdge)),
        [true, true] | [false, false] => (set.readings.len() == 1).then_some(SetDoubt::OnePlace),
    }
}

fn all_equal(set: &Set<'_>) -> Option<SetDoubt> {
    let places = set.readings.len();
    let first = set.readings.first()?;
    let same = |edge| set.readings.iter().all(|row| row.value.edge(edge) == first.value.edge(edge));
    let equal = places >= EQUAL_PLACES && EDGES.into_iter().all(same);
    equal.then_some(SetDoubt::AllEqual { places })
}

/// A set after knocking down with more swell than as sewn, by more than a step of the gauge.
fn swell_grew(set: &Set<'_>, sewn: Option<f64>, step: f64) -> Option<SetDoubt> {
    let (sewn_mm, knocked_mm) = (sewn?, set.swell()?);
    let grew = set.state.is_knocked() && knocked_mm > sewn_mm + step;
    grew.then_some(SetDoubt::SwellGrew { sewn_mm, knocked_mm })
}

/// Readings far from the others of their set.
///
/// A reading is outlying when it is more than 0.5 mm, and more than four pooled deviations, away
/// from the median of the set's other readings at that edge. The pooled deviation is the median
/// of |reading − median of its set| over all sets of two readings or more, so that one bad
/// reading does not widen its own limit.
pub(in crate::book) fn outlying(sets: &[Set<'_>]) -> Vec<Finding> {
    let limit = OUTLYING_MM.max(OUTLYING_DEVIATIONS * pooled_deviation(sets));
    let mut findings = Vec::new();
    for (set, edge) in sets.iter().flat_map(|set| EDGES.map(|edge| (set, edge))) {
        let values = set.edge(edge);
        let mut sorted: Vec<f64> = values.iter().map(|(_, value)| *value).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        for (row, value) in &values {
            let others = median_of_others(&sorted, *value);
            if let Some(others_mm) = others.filter(|others| (value - others).abs() > limit) {
                let (at, value_mm) = (row.value.place.clone(), *value);
                let doubt = SetDoubt::Outlying { at, edge, value_mm, others_mm };
                findings.push(finding(set, reading_place(row), doubt));
            }
        }
    }
    findings
}

/// The median of `sorted` without one of its values. Only the middle is looked at, however many
/// there are.
fn median_of_others(sorted: &[f64], value: f64) -> Option<f64> {
    let rank = sorted.partition_point(|other| *other < value);
    let other = |index: usize| sorted.get(index + usize::from(index >= rank)).copied();
    let count = sorted.len().checked_sub(1).filter(|count| *count > 0)?;
    let middle = (count - 1) / 2..=count / 2;
    median(middle.filter_map(other).collect())
}

fn pooled_deviation(sets: &[Set<'_>]) -> f64 {
    let mut deviations = Vec::new();
    for (set, edge) in sets.iter().flat_map(|set| EDGES.map(|edge| (set, edge))) {
        let values: Vec<f64> = set.edge(edge).into_iter().map(|(_, value)| value).collect();
        if let Some(middle) = median(values.clone()).filter(|_| values.len() > 1) {
            deviations.extend(values.iter().map(|value| (value - middle).abs()));
        }
    }
    median(deviations).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_the_middle() {
        assert_eq!(median(vec![]), None);
        assert_eq!(median(vec![3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(vec![4.0, 1.0, 2.0, 3.0]), Some(2.5));
    }

    #[test]
    fn the_median_of_the_others_leaves_one_out() {
        let sorted = [1.0, 2.0, 2.0, 4.0, 8.0, 9.0];
        for index in 0..sorted.len() {
            for end in index + 1..=sorted.len() {
                let mut others = sorted[..end].to_vec();
                let value = others.remove(index);
                assert_eq!(
                    median_of_others(&sorted[..end], value),
                    median(others),
                    "{value} of {end}"
                );
            }
        }
    }
}
