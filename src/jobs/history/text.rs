//! Sewings in order of date, as sentences and as JSON.

use super::answer::{BASELINE, Drift, ENOUGH_SEWINGS, History, HistoryPoint, MovingAverage};
use super::answer_control::{LAMBDA, LIMIT};
use crate::model::Ranges;
use crate::terminal::number::{plural, rounded};
use crate::terminal::words::wrapped;
use serde::Serialize;

/// What the sewings in order of date say; `None` while they are too few to tell.
pub(crate) fn history_text(history: &History, width: usize) -> Option<String> {
    let count = plural(history.points.len(), "sewing");
    let first = match &history.drift {
        Drift::TooFew { .. } => return None,
        Drift::Steady => format!("Over {count} in order of date your hand is steady: no drift."),
        Drift::Drifting { trial, since, change } => {
            let (word, size) = if *change < 0.0 { ("less", -change) } else { ("more", *change) };
            format!(
                "Over {count} in order of date your hand is drifting: since {since} (trial \
                 {trial}) sewings take about {} of the thread {word} than your first {BASELINE} \
                 did. Look at what changed then (needle, wax, tension, hammer); if it is to stay, \
                 the older sewings say less of the next one.",
                rounded(size, 2)
            )
        }
    };
    let out: Vec<String> = history.out_of_limits().map(out_words).collect();
    let out = match out.len() {
        0 => String::new(),
        1 => format!(" One sewing is further out than chance allows: {}.", out[0]),
        _ => format!(" Sewings further out than chance allows: {}.", out.join(", ")),
    };
    let undated = match history.undated {
        0 => String::new(),
        count => format!(" {} without a date left out.", plural(count, "sewing")),
    };
    Some(wrapped(&format!("{first}{out}{undated}"), width))
}

fn out_words(point: &HistoryPoint) -> String {
    let mean = point.effect.mean;
    let (size, word) = (rounded(mean.abs(), 2), if mean < 0.0 { "less" } else { "more" });
    format!("{} of {} (about {size} of the thread {word})", point.trial, point.date)
}

/// The sewings in JSON.
#[derive(Serialize)]
pub(crate) struct HistoryDocument {
    verdict: &'static str,
    since: Option<SinceDocument>,
    sewings_needed: usize,
    baseline: usize,
    limit: f64,
    lambda: f64,
    centre: Option<f64>,
    scatter: Option<f64>,
    undated: usize,
    points: Vec<PointDocument>,
}

#[derive(Serialize)]
struct SinceDocument {
    trial: String,
    date: String,
    change: f64,
}

#[derive(Serialize)]
struct PointDocument {
    trial: String,
    date: String,
    effect: Ranges,
    standardised: f64,
    out_of_limits: bool,
    average: Option<AverageDocument>,
}

#[derive(Serialize)]
struct AverageDocument {
    value: f64,
    low: f64,
    high: f64,
    out_of_limits: bool,
}

impl From<MovingAverage> for AverageDocument {
    fn from(average: MovingAverage) -> Self {
        let MovingAverage { value, low, high } = average;
        Self { value, low, high, out_of_limits: average.is_out() }
    }
}

impl From<&HistoryPoint> for PointDocument {
    fn from(point: &HistoryPoint) -> Self {
        Self {
            trial: point.trial.to_string(),
            date: point.date.to_string(),
            effect: point.effect,
            standardised: point.standardised,
            out_of_limits: point.out_of_limits,
            average: point.average.map(AverageDocument::from),
        }
    }
}

impl From<&History> for HistoryDocument {
    fn from(history: &History) -> Self {
        let (verdict, since) = match &history.drift {
            Drift::TooFew { .. } => ("too_few", None),
            Drift::Steady => ("steady", None),
            Drift::Drifting { trial, since, change } => {
                let (trial, date) = (trial.to_string(), since.to_string());
                ("drifting", Some(SinceDocument { trial, date, change: *change }))
            }
        };
        Self {
            verdict,
            since,
            sewings_needed: ENOUGH_SEWINGS,
            baseline: BASELINE,
            limit: LIMIT,
            lambda: LAMBDA,
            centre: history.centre,
            scatter: history.scatter,
            undated: history.undated,
            points: history.points.iter().map(PointDocument::from).collect(),
        }
    }
}
