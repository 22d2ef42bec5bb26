//! What is said about doubtful readings of an edge.

use super::answer_apart::Doubtful;
use crate::terminal::words::listed;
use crate::units::LengthUnit;

/// What is wrong with the readings of a fore-edge, and what to do.
pub(crate) fn doubtful_words(readings: &Doubtful, unit: LengthUnit) -> String {
    match readings {
        Doubtful::Apart(apart) => format!(
            "the readings of the fore-edge, from {} to {}, are so far apart that one is wrong; \
             measure again",
            unit.figures(apart.low_mm),
            unit.shown(apart.high_mm)
        ),
        Doubtful::OutOfLine(out_mm) => out_of_line_words(out_mm, unit),
    }
}

/// Which readings count less.
pub(crate) fn out_of_line_words(out_mm: &[f64], unit: LengthUnit) -> String {
    let out: Vec<String> = out_mm.iter().map(|&mm| unit.found(mm)).collect();
    let says = match out.len() {
        1 => "is out of line with the other readings of its edge and counts",
        _ => "are out of line with the other readings of their edge and count",
    };
    format!("{} {says} less; measure again if you can", listed(&out))
}
