//! How often verdicts on track records and on the hand are wrong, through readings and fits.

use crate::on_every_core;
use crate::support::simulated::Extent;
use crate::support::simulated_track::{Made, Record, drifting, recorded};
use crate::tally::Share;
use std::fmt::Write as _;
use swellbook::jobs::track::answer::TrackRecord;
use swellbook::jobs::track::answer_reliability::TrackVerdict;

/// Differs from the seeds of the other tables.
const SEEDS: u64 = 20_280_301;
const FORECASTS: [usize; 2] = [12, 24];
const EXTENT: Extent = Extent { papers: 2, trials_each: 4 };
/// The number of sewings, and the step if any: the sewing where it begins, and its size in spreads.
const HANDS: [(usize, Option<(usize, f64)>); 5] =
    [(18, None), (25, None), (18, Some((10, 2.0))), (25, Some((10, 2.0))), (30, Some((15, 2.0)))];

const OPENING: &str = "
A book has two papers with four trials each. Forecasts of new books are saved, each is sewn and
measured, and the record is judged. All is as believed, so a verdict of *too sure* or *too careful*
is wrong. The goal is at most 5 %.

Forecasts from one fit share its errors. If all of them counted, the verdict would be wrong far more
often (second row of each three). A forecast counts only if it was made after the outcomes counted
before it were known; from one fit, that is one forecast.

| forecasts | made | wrong, % | too sure | too careful | counted | records |
| --- | --- | --- | --- | --- | --- | --- |
";

const HAND: &str = "
Two papers are sewn in any order. Every spread is as large as the scale of its belief, and each
block is measured as sewn and knocked down. Then the fit puts the sewings in order of date. A step
is two spreads of the sewings. *Near* is the share of those found whose day is within three sewings
of the step.

| sewings | step | called drifting, % | near, % | histories |
| --- | --- | --- | --- | --- |
";

fn made_words(made: Made) -> &'static str {
    match made {
        Made::AtOnce => "all of one fit",
        Made::AtOnceWithOtherDays => "all of one fit, all counted",
        Made::OneByOne => "each after the one before was measured",
    }
}

/// The section without its heading, from `count` records in each row.
pub fn section(count: u64) -> String {
    let mut text = OPENING.to_owned();
    for forecasts in FORECASTS {
        for made in [Made::AtOnce, Made::AtOnceWithOtherDays, Made::OneByOne] {
            let what = Record { extent: EXTENT, forecasts, made };
            let told = on_every_core(count, |book| recorded(SEEDS + book, what));
            let all: Vec<TrackRecord> = told.into_iter().flatten().collect();
            let verdicts = |verdict| all.iter().filter(|one| one.verdict == verdict).count();
            let (sure, careful) =
                (verdicts(TrackVerdict::TooSure), verdicts(TrackVerdict::TooCareful));
            let counted = |one: &TrackRecord| one.counted().count();
            let counted = all.iter().map(counted).sum::<usize>() as f64 / all.len() as f64;
            let wrong = Share::of(sure + careful, all.len());
            let _ = writeln!(
                text,
                "| {forecasts} | {} | {wrong} | {sure} | {careful} | {counted:.0} | {} |",
                made_words(made),
                all.len()
            );
            eprintln!("{forecasts} forecasts, {}: {wrong}", made_words(made));
        }
    }
    text
}

/// The section on a hand that changes, without its heading, from `count` histories in each row.
pub fn hands(count: u64) -> String {
    let mut text = HAND.to_owned();
    for (sewings, step) in HANDS {
        let all = on_every_core(count, |book| drifting(SEEDS + book, sewings, step));
        let told: Vec<Option<i32>> = all.into_iter().flatten().collect();
        let found: Vec<i32> = told.iter().copied().flatten().collect();
        let near = found.iter().filter(|off| off.abs() <= 3).count();
        let (called, words) = match step {
            Some((from, by)) => {
                (Share::of(near, found.len()).to_string(), format!("{by} from {}", from + 1))
            }
            None => ("".to_owned(), "none".to_owned()),
        };
        let found = Share::of(found.len(), told.len());
        eprintln!("{sewings} sewings, step {words}: {found}");
        let _ = writeln!(text, "| {sewings} | {words} | {found} | {called} | {} |", told.len());
    }
    text
}
