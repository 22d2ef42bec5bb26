//! What is said about a part that looks wrong.

use super::answer::Midway;
use super::answer_part::{PartDoubt, PartSeen};
use super::answer_stop::Inside;
use crate::book::Config;
use crate::jobs::doubt::text::out_of_line_words;
use crate::terminal::number::{gauged_length, plural};
use crate::units::LengthUnit;

/// Asks to measure the part again, and names the likely mistake.
pub(crate) fn again_line(part: &PartSeen, doubt: PartDoubt, config: &Config) -> String {
    let length = |mm: f64| {
        let width = part.expected.q95 - part.expected.q05;
        format!("{} {}", gauged_length(mm, width, config), config.unit)
    };
    match doubt {
        PartDoubt::Apart { edge, readings } => format!(
            "Measure again: the readings of the {edge}, from {} to {}, are so far apart that one is \
             wrong.",
            length(readings.low_mm),
            length(readings.high_mm)
        ),
        PartDoubt::Exchanged => format!(
            "Measure again: the spine of the part is {} thinner than its fore-edge, with thread in \
             the folds. Were the two exchanged?",
            length(-part.swell_mm)
        ),
        PartDoubt::ForeEdge { leaves_mm } => format!(
            "Measure again: the fore-edge of the part is {}, but its leaves make {}. Check the \
             readings, the number of sections sewn, and the unit.",
            length(part.fore_edge_mm),
            length(leaves_mm)
        ),
        PartDoubt::Miscounted { sections } => format!(
            "Measure again: the fore-edge of the part is {}, which fits {} better than {}. Count the \
             sections sewn.",
            length(part.fore_edge_mm),
            plural(sections as usize, "section"),
            part.sewn
        ),
        PartDoubt::FarOut => format!(
            "Measure again: the part has {} of swell, where {} was expected, give or take {}. Check \
             both edges, the number of sections sewn, and the unit.",
            length(part.swell_mm),
            length(part.expected.mean),
            length(part.expected.sd)
        ),
        PartDoubt::Folded { folded_mm, implied_mm } => format!(
            "Measure again: the whole block was {} at the fore-edge when folded, but by the part it \
             is {}. Check both, and the number of sections sewn.",
            length(folded_mm),
            length(implied_mm)
        ),
    }
}

/// That the part ends inside a traverse, with the nearest places to measure at.
pub(crate) fn inside_line(midway: &Midway) -> Option<String> {
    let Inside { before, after } = midway.inside?;
    let stops = match before {
        0 => format!("after {after}"),
        _ => format!("after {before} or after {after}"),
    };
    Some(format!(
        "a part of {} ends inside a traverse, which takes sections {} to {after}; measure {stops}",
        midway.part.sewn,
        before + 1
    ))
}

/// Which readings count less; `None` if the part is to be measured again because of them.
pub(crate) fn less_line(midway: &Midway, unit: LengthUnit) -> Option<String> {
    let is_wrong = matches!(midway.again, Some(PartDoubt::Apart { .. }));
    (!is_wrong && !midway.less.is_empty()).then(|| out_of_line_words(&midway.less, unit))
}
