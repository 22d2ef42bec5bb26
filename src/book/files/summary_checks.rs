//! Checks the values of a summary, which anyone may have written.

use super::summary::{SummaryCounts, SummaryFile};
use crate::units::shown;
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// The largest number that a summary may have.
const LARGEST: f64 = 1e18;
/// More trials than a bench ever sews.
const MOST_TRIALS: u64 = 10_000_000;
/// The number of states that a block has.
const STATES: u64 = 5;

/// The faults of a summary: the member, what was found and what was expected.
pub(super) fn faults(file: &SummaryFile) -> Vec<String> {
    let mut faults = Vec::new();
    of_counts(&file.counts, &mut faults);
    let repeatability = &file.repeatability;
    within("repeatability, sd_mm", repeatability.sd_mm, 1e-6..=10.0, &mut faults);
    within("repeatability, df", repeatability.df, 4.0..=1e9, &mut faults);
    names("coefficients", &file.coefficients, &mut faults);
    names("spreads", &file.spreads, &mut faults);
    let coefficients = file.coefficients.len();
    table("information", &file.information, (1..=coefficients).collect(), &mut faults);
    row("weighted", &file.weighted, coefficients, &mut faults);
    let values = file.spreads_at.len();
    let rising = file.spreads_at.windows(2).all(|pair| pair[0] < pair[1]);
    if !rising || file.spreads_at.first() != Some(&0.0) {
        faults.push("spreads_at: expected rising numbers that begin with 0".to_owned());
    }
    table("log_likelihood", &file.log_likelihood, vec![values; file.spreads.len()], &mut faults);
    for (name, row) in file.spreads.iter().zip(&file.log_likelihood) {
        let top = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if top != 0.0 && !row.is_empty() {
            let name = shown(name);
            let found = format!("the greatest of '{name}' is {top}, expected 0");
            faults.push(format!("log_likelihood: {found}"));
        }
    }
    faults
}

fn of_counts(counts: &SummaryCounts, faults: &mut Vec<String>) {
    let SummaryCounts { papers, threads, trials, observations, by_hardness, by_state } = *counts;
    let mut expect = |holds: bool, found: String| {
        if !holds {
            faults.push(format!("counts: {found}"));
        }
    };
    let count = |found: u64, most: u64| (1..=most).contains(&found);
    expect(count(trials, MOST_TRIALS), format!("{trials} trials, expected 1 to {MOST_TRIALS}"));
    // If a sum overflows, it is `None` and equals nothing.
    let sum = |each: &[u64]| each.iter().try_fold(0_u64, |sum, &one| sum.checked_add(one));
    let hardness = [by_hardness.hard, by_hardness.medium, by_hardness.soft];
    let sewn = [by_state.unsewn, by_state.sewn, by_state.pressed, by_state.knocked];
    let states = [&sewn[..], &[by_state.knocked_pressed]].concat();
    expect(
        sum(&hardness) == Some(trials),
        format!("by_hardness does not add up to {trials} trials"),
    );
    expect(
        sum(&states) == Some(observations),
        format!("by_state does not add up to {observations} observations"),
    );
    let most = trials.saturating_mul(STATES);
    expect(
        (trials..=most).contains(&observations) && states.iter().all(|&each| each <= trials),
        format!("{observations} observations of {trials} trials; each has 1 to {STATES} states"),
    );
    expect(count(papers, trials), format!("{papers} papers of {trials} trials"));
    expect(count(threads, trials), format!("{threads} threads of {trials} trials"));
    let kinds = hardness.iter().filter(|&&each| each > 0).count() as u64;
    expect(kinds <= papers, format!("{papers} papers of {kinds} kinds of hardness"));
}

fn within(what: &str, found: f64, range: RangeInclusive<f64>, faults: &mut Vec<String>) {
    if !range.contains(&found) {
        let (low, high) = range.into_inner();
        faults.push(format!("{what}: {found} is outside {low}..{high}"));
    }
}

fn names(member: &str, names: &[String], faults: &mut Vec<String>) {
    if names.is_empty() {
        faults.push(format!("{member}: expected at least one name"));
    }
    let mut seen = BTreeSet::new();
    for name in names.iter().filter(|name| !seen.insert(name.as_str())) {
        faults.push(format!("{member}: '{}' is given twice", shown(name)));
    }
}

/// Checks that the rows have these lengths.
fn table(member: &str, rows: &[Vec<f64>], lengths: Vec<usize>, faults: &mut Vec<String>) {
    if rows.len() != lengths.len() {
        let (found, expected) = (rows.len(), lengths.len());
        faults.push(format!("{member}: {found} rows, expected {expected}"));
        return;
    }
    for (place, (each, length)) in rows.iter().zip(lengths).enumerate() {
        row(&format!("{member}: row {}", place + 1), each, length, faults);
    }
}

fn row(what: &str, numbers: &[f64], length: usize, faults: &mut Vec<String>) {
    if numbers.len() != length {
        faults.push(format!("{what}: {} numbers, expected {length}", numbers.len()));
    } else if let Some(found) =
        numbers.iter().find(|number| number.is_nan() || number.abs() > LARGEST)
    {
        faults.push(format!("{what}: {found} is outside -{LARGEST:e}..{LARGEST:e}"));
    }
}
