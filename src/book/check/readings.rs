use super::doubt::{Ahead, SetDoubt};
use super::finding::Finding;
use super::outlying::{Sifted, sifted};
use super::repetition::repetitions;
use super::sets::{Set, reading_place};
use super::stock::plain;
use crate::book::location::Location;
use crate::book::opened::Book;
use crate::trade::{Edge, Place, State};
use crate::units::in_shares;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// Swells that differ by less than this, in mm, are equal for a gauge (common practice, no source).
const GREW_MM: f64 = 0.1;
/// Nor is a growth a doubt within this many standard errors of both swells.
const GREW_ERRORS: f64 = 3.0;
/// From this many places on it is odd if all have the same reading.
const EQUAL_PLACES: usize = 3;

fn finding(set: &Set<'_>, place: Location, doubt: SetDoubt) -> Finding {
    Finding::Set { place, trial: set.trial.name.clone(), state: set.state, doubt }
}

/// The doubts about each set, and between the states of a trial.
pub(in crate::book) fn of_sets(book: &Book, sets: &[Set<'_>], today: Date) -> Vec<Finding> {
    let step = book.config().resolution.mm();
    let all = sifted(sets);
    let of_trials: Vec<&[Sifted<'_, '_>]> = all.chunk_by(Sifted::is_of_same).collect();
    in_shares(of_trials.len(), |range| {
        let mut findings = Vec::new();
        for of_trial in &of_trials[range] {
            let sewn = of_trial.iter().find(|one| one.set.state == State::Sewn);
            of_trial.iter().for_each(|one| of_set(one, sewn, step, today, &mut findings));
        }
        findings
    })
}

/// The doubts about a set. `sewn` is its trial as sewn.
fn of_set(
    one: &Sifted<'_, '_>,
    sewn: Option<&Sifted<'_, '_>>,
    step: f64,
    today: Date,
    findings: &mut Vec<Finding>,
) {
    let set = one.set;
    let wrong = one.wrong.iter();
    findings.extend(
        wrong.map(|(at, doubt)| finding(set, reading_place(&set.readings[*at]), doubt.clone())),
    );
    findings.extend(repeated(set, step));
    findings.extend(alike(set));
    let doubts = [
        thin_spine(one),
        fore_edge_far(one),
        edges(set),
        all_equal(set),
        swell_grew(one, sewn, step),
    ];
    let doubts = doubts.into_iter().flatten().chain(ahead(set, today));
    findings.extend(doubts.map(|doubt| finding(set, set.place(), doubt)));
}

/// Checks for a thin spine in sets whose edges were measured at different places.
fn thin_spine(one: &Sifted<'_, '_>) -> Option<SetDoubt> {
    let set = one.set;
    let (spine_mm, fore_edge_mm) = (one.median(Edge::Spine)?, one.median(Edge::ForeEdge)?);
    let thin = set.state.has_thread() && spine_mm < fore_edge_mm && one.wrong.is_empty();
    thin.then_some(SetDoubt::SpineThinner { at: None, spine_mm, fore_edge_mm })
}

fn repeated(set: &Set<'_>, step: f64) -> Vec<Finding> {
    let readings: Vec<_> = set.readings.iter().map(|row| row.value).collect();
    let found = repetitions(&readings, step).into_iter();
    let place = |index: usize| reading_place(&set.readings[index]);
    found.map(|(index, found)| finding(set, place(index), SetDoubt::Repeated(found))).collect()
}

fn alike(set: &Set<'_>) -> Vec<Finding> {
    // Most places are plain numbers, and different numbers are never alike.
    let is_number = |at: &Place| at.as_str().bytes().all(|byte| byte.is_ascii_digit());
    if set.readings.iter().all(|row| is_number(&row.value.place)) {
        return Vec::new();
    }
    let mut seen: BTreeMap<String, &Place> = BTreeMap::new();
    let found = set.readings.iter().filter_map(|row| {
        let at = &row.value.place;
        let other = *seen.entry(plain(at)).or_insert(at);
        let doubt = SetDoubt::PlacesAlike { at: at.clone(), other: other.clone() };
        (at != other).then(|| finding(set, reading_place(row), doubt))
    });
    found.collect()
}

/// The days in the future on which readings are said to be taken.
fn ahead(set: &Set<'_>, today: Date) -> impl Iterator<Item = SetDoubt> {
    let said = set.readings.iter().map(|row| &*row.value.taken).filter(|taken| !taken.is_empty());
    let days = said.filter_map(|taken| taken.parse::<Date>().ok());
    let days: BTreeSet<Date> = days.collect();
    days.into_iter().filter_map(move |day| Ahead::of(day, today)).map(SetDoubt::TakenAhead)
}

fn fore_edge_far(one: &Sifted<'_, '_>) -> Option<SetDoubt> {
    let leaves_mm = f64::from(one.set.trial.sewing.leaves()) * one.set.paper?.caliper().mm();
    let median_mm = one.median(Edge::ForeEdge)?;
    SetDoubt::of_fore_edge(median_mm, leaves_mm)
}

/// Checks for one edge only, unequal counts, or one place only.
fn edges(set: &Set<'_>) -> Option<SetDoubt> {
    let [spines, fore_edges] = Edge::ALL.map(|edge| set.count(edge));
    match [spines > 0, fore_edges > 0] {
        [true, false] => Some(SetDoubt::OneEdge(Edge::Spine)),
        [false, true] => Some(SetDoubt::OneEdge(Edge::ForeEdge)),
        [true, true] if spines != fore_edges => Some(SetDoubt::Uneven { spines, fore_edges }),
        [true, true] | [false, false] => (set.readings.len() == 1).then_some(SetDoubt::OnePlace),
    }
}

fn all_equal(set: &Set<'_>) -> Option<SetDoubt> {
    let places = set.readings.len();
    let first = set.readings.first()?;
    let same = |edge| set.readings.iter().all(|row| row.value.edge(edge) == first.value.edge(edge));
    let equal = places >= EQUAL_PLACES && Edge::ALL.into_iter().all(same);
    equal.then_some(SetDoubt::AllEqual { places })
}

/// Checks whether a knocked-down block has more swell than as sewn, by more than the readings of
/// both explain.
fn swell_grew(one: &Sifted<'_, '_>, sewn: Option<&Sifted<'_, '_>>, step: f64) -> Option<SetDoubt> {
    let sewn = sewn.filter(|_| one.set.state.is_knocked())?;
    let (sewn_mm, knocked_mm) = (sewn.swell()?, one.swell()?);
    let error_mm = (sewn.swell_variance() + one.swell_variance()).sqrt();
    let grew = knocked_mm - sewn_mm > step.max(GREW_MM).max(GREW_ERRORS * error_mm);
    grew.then_some(SetDoubt::SwellGrew { sewn_mm, knocked_mm })
}
