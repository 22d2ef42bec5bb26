//! Describes a plan in words.

use super::answer_band::Band;
use super::answer_question::Sewer;
use crate::model::{Plan, Run};
use crate::terminal::number::plural;
use crate::terminal::words::capital;
use crate::trade::Sewing;

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

/// The pattern with its ends, as part of a sentence. The ends of a part of a book may differ.
pub(crate) fn sewing_words(sewing: Sewing) -> String {
    if !sewing.is_two_on() || sewing.between() == 0 {
        return "sewn all along".to_owned();
    }
    let pattern = pattern_words(sewing.on());
    let end = |place: &str, count: u16| match count {
        1 => format!("the {place} section"),
        _ => format!("the {place} {count} sections"),
    };
    let ends = match (sewing.first(), sewing.last()) {
        (0, 0) => None,
        (first, 0) => Some(end("first", first)),
        (0, last) => Some(end("last", last)),
        (first, last) if first == last => Some(end("first and last", first)),
        (first, last) => Some(format!("{} and {}", end("first", first), end("last", last))),
    };
    match ends {
        Some(ends) => format!("sewn {pattern}, {ends} all along"),
        None => format!("sewn {pattern}"),
    }
}

/// A run; `said` if the plan as a whole already says that its folds are boned.
fn run_words(run: &Run, said: bool) -> String {
    let (sections, sheets) = (run.sewing.sections(), run.sewing.sheets());
    let novelty = |level: Option<usize>, what: &str| match level {
        Some(_) => String::new(),
        None => format!(" (new {what})"),
    };
    format!(
        "{} of {} ({} leaves) of {}{}, {}{}, {}{}",
        plural(sections.into(), "section"),
        plural(sheets.into(), "sheet"),
        run.sewing.leaves(),
        run.paper.name,
        novelty(run.paper.level, "paper"),
        run.thread.name,
        novelty(run.thread.level, "thread"),
        sewing_words(run.sewing),
        if run.boned && !said { ", boned" } else { "" }
    )
}

/// Said of a prediction in a book of several hands that names none.
pub(crate) const NEW_HAND: &str = "no hand was named: predicted for a hand new to the book";

/// For whose hand a book is predicted, as a further sentence; empty where one hand has sewn
/// everything.
pub(crate) fn sewer_sentence(sewer: Option<&Sewer>) -> String {
    match sewer {
        None => String::new(),
        Some(Sewer::New) => format!(" {}.", capital(NEW_HAND)),
        Some(Sewer::Known(name)) if name.is_empty() => {
            " Predicted for the hand of the trials without a name.".to_owned()
        }
        Some(Sewer::Known(name)) => format!(" Predicted for the hand of {name}."),
    }
}

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
        let said = |on: u8, first: u16, last: u16| {
            let sewing = Sewing::new(24, 4, on, 0).unwrap().with_ends(first, last).unwrap();
            sewing_words(sewing)
        };
        assert_eq!(said(1, 3, 3), "sewn all along");
        assert_eq!(said(2, 0, 0), "sewn two-on");
        assert_eq!(said(2, 12, 12), "sewn all along");
        assert_eq!(said(2, 1, 1), "sewn two-on, the first and last section all along");
        assert_eq!(said(3, 4, 4), "sewn three-on, the first and last 4 sections all along");
        assert_eq!(said(2, 3, 0), "sewn two-on, the first 3 sections all along");
        assert_eq!(said(2, 0, 1), "sewn two-on, the last section all along");
        assert_eq!(
            said(2, 3, 1),
            "sewn two-on, the first 3 sections and the last section all along"
        );
    }
}
