//! The track record of kept forecasts, as sentences.

use super::answer::{Followed, TrackRecord};
use super::answer_otherwise::{Otherwise, Planned};
use super::answer_reliability::{ReliabilityBin, TrackVerdict};
use crate::jobs::plan_spec::text::pattern_words;
use crate::model::ExactShare;
use crate::terminal::number::plural;
use crate::terminal::table::Table;
use crate::terminal::words::wrapped;

/// The title of the table of promised chances.
pub(crate) const PROMISED: &str =
    "Targets by the chance promised; the range shows where the true chance may be";
pub(crate) const TRACK_COLUMNS: [&str; 6] =
    ["promised", "forecasts", "mean", "met", "share", "range"];

/// The track record; `None` if no kept forecast has an outcome.
pub(crate) fn track_text(track: &TrackRecord, width: usize) -> Option<String> {
    let words = format!("Kept forecasts: {}", track_words(track)?);
    let mut blocks = vec![wrapped(&words, width)];
    if !track.reliability.is_empty() {
        let promised = wrapped(&format!("{PROMISED}:"), width);
        blocks.push(format!("{promised}\n{}", bins(&track.reliability, width)));
    }
    Some(blocks.join("\n"))
}

/// The verdict, how often the ranges held, and how many outcomes do not count; `None` without an
/// outcome.
pub(crate) fn track_words(track: &TrackRecord) -> Option<String> {
    let measured = || track.outcomes().map(|(one, _)| one);
    let unlike: Vec<&Followed> = measured().filter(|one| !one.sewn_otherwise.is_empty()).collect();
    let late = measured().filter(|one| one.made_too_late && one.sewn_otherwise.is_empty());
    let late: Vec<&str> = late.map(|one| one.name.as_str()).collect();
    let left_out = measured().filter(|one| !one.counts && one.is_of_this_plan()).count();
    let counted = track.within_50.zip(track.within_90);
    let counted = counted.map(|(half, nine)| counted_words(half, nine));
    let words = [
        Some(verdict_words(track.verdict)),
        counted,
        left_out_words(left_out),
        unlike_words(&unlike),
        late_words(&late),
    ];
    (track.outcomes().count() > 0)
        .then(|| words.into_iter().flatten().collect::<Vec<_>>().join(" "))
}

fn counted_words(half: ExactShare, nine: ExactShare) -> String {
    let their = if nine.of == 1 { "its" } else { "their" };
    format!(
        "Of {} with an outcome, {} lay within {their} 90 % range ({}), and {} within {their} 50 % \
         range ({}).",
        plural(nine.of, "forecast"),
        nine.count,
        share_words(&nine),
        half.count,
        share_words(&half)
    )
}

/// How many outcomes do not count, and why.
fn left_out_words(count: usize) -> Option<String> {
    (count > 0).then(|| {
        format!(
            "Not counted: {} of forecasts made before an earlier outcome was known, or without a \
             day of sewing or measuring; such forecasts tend to miss together.",
            plural(count, "outcome")
        )
    })
}

/// Which outcomes belong to another sewing than the one that was predicted.
fn unlike_words(unlike: &[&Followed]) -> Option<String> {
    let each = |one: &&Followed| format!("{} ({})", one.name, otherwise_words(&one.sewn_otherwise));
    let each = unlike.iter().map(each).collect::<Vec<_>>().join("; ");
    (!unlike.is_empty())
        .then(|| format!("Not counted because sewn otherwise than planned: {each}."))
}

/// Which forecasts were made after their outcome was measured.
fn late_words(late: &[&str]) -> Option<String> {
    let names = late.join(", ");
    (!late.is_empty())
        .then(|| format!("Not counted because made after the outcome was known: {names}."))
}

/// `16 sections instead of 24, flax 18/3 instead of flax 25/3`.
pub(crate) fn otherwise_words(otherwise: &[Otherwise]) -> String {
    let words = |Otherwise { what, planned, sewn }: &Otherwise| match what {
        Planned::Paper | Planned::Thread => format!("{sewn} instead of {planned}"),
        Planned::Sections => format!("{} instead of {planned}", counted_in(sewn, "section")),
        Planned::Sheets => {
            format!("sections of {} instead of {planned}", counted_in(sewn, "sheet"))
        }
        Planned::On => format!("{} instead of {}", pattern(sewn), pattern(planned)),
        Planned::Ends => {
            let ends = if sewn.contains('+') { "the ends" } else { "each end" };
            format!("{sewn} sections all along at {ends} instead of {planned}")
        }
        Planned::Boned if sewn == "yes" => "boned".to_owned(),
        Planned::Boned => "not boned".to_owned(),
        Planned::Guards => format!("guards of {sewn} mm instead of {planned}"),
        Planned::Hand if planned.is_empty() => {
            format!("sewn by {sewn} instead of the hand of the trials without a name")
        }
        Planned::Hand => format!("sewn by {sewn} instead of {planned}"),
    };
    otherwise.iter().map(words).collect::<Vec<_>>().join(", ")
}

/// `two-on`, from the number that a difference holds.
fn pattern(on: &str) -> String {
    on.parse().map_or_else(|_| format!("{on}-on"), |on| pattern_words(on).to_owned())
}

fn counted_in(count: &str, one: &str) -> String {
    format!("{count} {one}{}", if count == "1" { "" } else { "s" })
}

fn verdict_words(verdict: TrackVerdict) -> String {
    match verdict {
        TrackVerdict::TooFew { needed, .. } => {
            format!("too few to tell whether the odds hold ({needed} outcomes are needed).")
        }
        TrackVerdict::AsPromised => {
            "as promised; nothing suggests that the odds are wrong.".to_owned()
        }
        TrackVerdict::TooSure => {
            "too sure of itself: ranges or targets were missed more often than promised.".to_owned()
        }
        TrackVerdict::TooCareful => {
            "more careful than it need be: ranges or targets were missed less often than promised."
                .to_owned()
        }
    }
}

/// `90 %; in the long run 61 to 98 %`.
fn share_words(share: &ExactShare) -> String {
    format!("{:.0} %; in the long run {}", 100.0 * share.share, limits(share))
}

fn limits(share: &ExactShare) -> String {
    format!("{:.0} to {:.0} %", 100.0 * share.low, 100.0 * share.high)
}

fn bins(bins: &[ReliabilityBin], width: usize) -> String {
    let (first, others) = TRACK_COLUMNS.split_at(1);
    let mut table = Table::of(first, others);
    for bin in bins {
        table.row(bin_row(bin));
    }
    table.sparing(&["mean", "share"], width).render(width)
}

pub(crate) fn bin_row(bin: &ReliabilityBin) -> [String; 6] {
    [
        format!("{:.0} to {:.0} %", 100.0 * bin.from, 100.0 * bin.to),
        bin.met.of.to_string(),
        format!("{:.0} %", 100.0 * bin.mean_promised),
        bin.met.count.to_string(),
        format!("{:.0} %", 100.0 * bin.met.share),
        limits(&bin.met),
    ]
}
