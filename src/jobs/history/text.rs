//! Sewings in order of date, as sentences.

use super::answer::{BASELINE, Drift, History, HistoryPoint};
use crate::terminal::number::{plural, rounded};
use crate::terminal::words::wrapped;

/// The verdict on drift; `None` while there are too few dated sewings.
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
                 did. Look at what changed then (needle, wax, tension, hammer); if the change is \
                 permanent, older sewings say less about the next one.",
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
        count => format!(" Left out: {} without a date.", plural(count, "sewing")),
    };
    Some(wrapped(&format!("{first}{out}{undated}"), width))
}

fn out_words(point: &HistoryPoint) -> String {
    let mean = point.effect.mean;
    let (size, word) = (rounded(mean.abs(), 2), if mean < 0.0 { "less" } else { "more" });
    format!("{} of {} (about {size} of the thread {word})", point.trial, point.date)
}
