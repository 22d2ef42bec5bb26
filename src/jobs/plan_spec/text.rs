//! Describes a plan in words.

use super::answer_band::Band;
use crate::model::{Plan, Run};

/// `rounded-backed, 25 to 35 %`, or the bounds alone if they were typed.
pub(crate) fn band_words(band: &Band) -> String {
    let bounds = format!("{} to {} %", band.low_percent, band.high_percent);
    let typed = format!("{}..{}", band.low_percent, band.high_percent);
    if band.name == typed { bounds } else { format!("{}, {bounds}", band.name) }
}

/// `all along`, `two-on`, `three-on` …
pub(crate) fn pattern_words(on: u8) -> &'static str {
    match on {
        1 => "all along",
        2 => "two-on",
        3 => "three-on",
        4 => "four-on",
        5 => "five-on",
        _ => "six-on",
    }
}

/// The pattern with its ends, as part of a sentence.
pub(crate) fn sewing_words(on: u8, ends: u16) -> String {
    let pattern = pattern_words(on);
    if on == 1 {
        return format!("sewn {pattern}");
    }
    match ends {
        0 => format!("sewn {pattern}"),
        1 => format!("sewn {pattern}, the first and last section all along"),
        _ => format!("sewn {pattern}, the first and last {ends} sections all along"),
    }
}

/// A run; `said` if the plan as a whole already says that its folds are boned.
fn run_words(run: &Run, said: bool) -> String {
    let (sections, sheets) = (run.sewing.sections(), run.sewing.sheets());
    let plural = |count: u16, word: &str| {
        if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
    };
    let novelty = |level: Option<usize>, what: &str| match level {
        Some(_) => String::new(),
        None => format!(" (new {what})"),
    };
    format!(
        "{} of {} ({} leaves) of {}{}, {}{}, {}{}",
        plural(sections, "section"),
        plural(sheets, "sheet"),
        run.sewing.leaves(),
        run.paper.name,
        novelty(run.paper.level, "paper"),
        run.thread.name,
        novelty(run.thread.level, "thread"),
        sewing_words(run.sewing.on(), run.sewing.ends()),
        if run.boned && !said { ", boned" } else { "" }
    )
}

/// The plan in one sentence.
pub(crate) fn plan_line(plan: &Plan) -> String {
    let all = plan.is_boned();
    let runs: Vec<String> = plan.runs().iter().map(|run| run_words(run, all)).collect();
    let boned = if all { ", boned" } else { "" };
    format!("{}{boned}, {}.", runs.join("; then "), plan.state.phrase())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sewing_is_said_in_the_words_of_the_trade() {
        assert_eq!(sewing_words(1, 3), "sewn all along");
        assert_eq!(sewing_words(2, 0), "sewn two-on");
        assert!(sewing_words(3, 4).contains("first and last 4 sections all along"));
    }
}
