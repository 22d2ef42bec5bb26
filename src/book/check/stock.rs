//! Doubts about papers, threads, targets and trials, and about their names.

use super::doubt::{Ahead, EntryDoubt};
use super::finding::Finding;
use super::sets::Set;
use crate::book::entries::held::{EntryKind, Named};
use crate::book::entries::record::{Located, place};
use crate::book::opened::{Book, Kept};
use crate::trade::{NO_HAND, Name, Paper, SavedPlan, Target, Thread, Trial, composed};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

/// The findings of `doubts` about each live entry of a kind.
fn each<T: Kept + Named>(book: &Book, doubts: impl Fn(&T) -> Vec<EntryDoubt>) -> Vec<Finding> {
    let found = |row: Located<&T>| {
        let found = move |doubt| finding(&row, doubt);
        doubts(row.value).into_iter().map(found).collect::<Vec<_>>()
    };
    book.located().flat_map(found).collect()
}

fn finding<T: Kept + Named>(row: &Located<&T>, doubt: EntryDoubt) -> Finding {
    let (place, name) = (place(T::FILE, row.row), row.value.name().clone());
    Finding::Entry { place, kind: T::KIND, name, doubt }
}

/// Finds papers that no trial uses, or whose caliper and grammage do not fit together.
pub(in crate::book) fn papers(book: &Book) -> Vec<Finding> {
    let used: HashSet<&Name> = book.trials().iter().map(|trial| &trial.paper).collect();
    each(book, |paper: &Paper| {
        let used = used.contains(&paper.name);
        bulk(paper).into_iter().chain((!used).then_some(EntryDoubt::Unused)).collect()
    })
}

/// An impossible leaf explains an impossible bulk, so only the leaf is reported.
fn bulk(paper: &Paper) -> Option<EntryDoubt> {
    let caliper_mm = paper.caliper().mm();
    let bulk = || EntryDoubt::of_bulk(1000.0 * caliper_mm / paper.grammage?.gsm());
    EntryDoubt::of_leaf(caliper_mm).or_else(bulk)
}

pub(in crate::book) fn targets(book: &Book) -> Vec<Finding> {
    each(book, |target: &Target| {
        EntryDoubt::of_bounds(target.low_percent(), target.high_percent()).into_iter().collect()
    })
}

/// Finds saved plans that name what is struck, or a hand that no trial has any more.
pub(in crate::book) fn plans(book: &Book) -> Vec<Finding> {
    let is_of = |trial: &Trial, hand: &str| trial.hand.as_ref().map_or("", Name::as_str) == hand;
    each(book, |plan: &SavedPlan| {
        let bereft = |kind: EntryKind| {
            let is_struck = |id: &&str| {
                book.times_struck(kind, id) > 0
                    && !book.live_names(kind).iter().any(|name| name.as_str() == *id)
            };
            let ids: BTreeSet<&str> = plan.words.needed(kind.word()).filter(is_struck).collect();
            ids.into_iter().map(move |id| EntryDoubt::NamesStruck { kind, id: id.to_owned() })
        };
        let hand = plan.words.whole().iter().find(|(key, _)| *key == "hand");
        let gone = hand.map(|(_, hand)| hand.trim()).filter(|hand| {
            *hand != NO_HAND && !book.trials().iter().any(|trial| is_of(trial, hand))
        });
        let gone = gone.map(|hand| EntryDoubt::NamesHandGone { hand: hand.to_owned() });
        [EntryKind::Paper, EntryKind::Thread, EntryKind::Target]
            .into_iter()
            .flat_map(bereft)
            .chain(gone)
            .collect()
    })
}

/// Finds threads that no trial uses, or whose diameter and count do not fit together.
pub(in crate::book) fn threads(book: &Book) -> Vec<Finding> {
    let used: HashSet<&Name> = book.trials().iter().map(|trial| &trial.thread).collect();
    each(book, |thread: &Thread| {
        let used = used.contains(&thread.name);
        diameter(thread).into_iter().chain((!used).then_some(EntryDoubt::Unused)).collect()
    })
}

fn diameter(thread: &Thread) -> Option<EntryDoubt> {
    thread.disagreement()?;
    let (laid_mm, count_mm) = (thread.laid()?.mm(), thread.diameter_from_count()?.mm());
    Some(EntryDoubt::Diameter { laid_mm, count_mm })
}

/// Finds trials without readings, without a date, with a date after `today`, with too many sheets or
/// with too thick guards. Finds those without a hand if other trials of the book name theirs.
pub(in crate::book) fn trials(book: &Book, sets: &[Set<'_>], today: Date) -> Vec<Finding> {
    let hands = book.trials().iter().any(|trial| trial.hand.is_some());
    let calipers: HashMap<&Name, f64> =
        book.papers().iter().map(|paper| (&paper.name, paper.caliper().mm())).collect();
    let measured: HashSet<&Name> = sets.iter().map(|set| &set.trial.name).collect();
    each(book, |trial: &Trial| {
        let measured = measured.contains(&trial.name);
        let date = match trial.date {
            None => Some(EntryDoubt::NoDate),
            Some(date) => Ahead::of(date, today).map(EntryDoubt::DateAhead),
        };
        let hand = (hands && trial.hand.is_none()).then_some(EntryDoubt::NoHand);
        let readings = (!measured).then_some(EntryDoubt::NoReadings);
        let pages = EntryDoubt::of_sheets(trial.sewing.sheets());
        let guards = calipers.get(&trial.paper).and_then(|caliper_mm| {
            let leaves_mm = f64::from(trial.sewing.leaves()) * caliper_mm;
            EntryDoubt::of_guards(trial.guards.mm(), leaves_mm)
        });
        date.into_iter().chain(pages).chain(guards).chain(hand).chain(readings).collect()
    })
}

pub(in crate::book) fn alike(book: &Book) -> Vec<Finding> {
    let (papers, threads) = (alike_of::<Paper>(book), alike_of::<Thread>(book));
    let (targets, trials) = (alike_of::<Target>(book), alike_of::<Trial>(book));
    [papers, threads, targets, trials, hands_alike(book)].into_iter().flatten().collect()
}

/// A name in lower case, without spaces and with accents in one piece, for comparison.
pub(in crate::book) fn plain(name: &Name) -> String {
    let lower = name.as_str().to_lowercase();
    composed(&lower.split_whitespace().collect::<String>())
}

/// Finds hands whose names are [`plain`] alike, at the first trial of each.
fn hands_alike(book: &Book) -> Vec<Finding> {
    let mut seen: BTreeMap<String, BTreeSet<&Name>> = BTreeMap::new();
    let mut findings = Vec::new();
    for row in book.located::<Trial>() {
        let Some(hand) = &row.value.hand else { continue };
        let hands = seen.entry(plain(hand)).or_default();
        let first = hands.first().copied();
        if hands.insert(hand)
            && let Some(other) = first.cloned()
        {
            findings.push(finding(&row, EntryDoubt::HandAlike { hand: hand.clone(), other }));
        }
    }
    findings
}

fn alike_of<T: Kept + Named>(book: &Book) -> Vec<Finding> {
    let mut seen: HashMap<String, &Name> = HashMap::new();
    let found = book.located::<T>().filter_map(|row| {
        let name = row.value.name();
        let other = *seen.entry(plain(name)).or_insert(name);
        let doubt = || EntryDoubt::AlikeTo { name: name.clone(), other: other.clone() };
        (!std::ptr::eq(name, other)).then(|| finding(&row, doubt()))
    });
    found.collect()
}
