//! What a flat sheet cannot hold, in words.

use super::answer_sheet::FlatSheet;
use crate::terminal::number::plural;

/// Notes on a sheet that was written, one per line.
pub(crate) fn notes_on(sheet: &FlatSheet) -> Vec<String> {
    let left = sheet.left_out;
    let kinds = [
        (left.trials, "trial", " without readings"),
        (left.papers, "paper", " of no trial in it"),
        (left.threads, "thread", " of no trial in it"),
        (left.targets, "target", ""),
        (left.forecasts, "kept forecast", ""),
        (left.plans, "saved plan", ""),
        (left.struck, "struck entry", ""),
        (left.notes, "note", " on papers, threads and trials"),
        (left.notes_refused, "note", " that import refuses (a formula, for example)"),
    ];
    let parts = kinds.iter().filter(|(count, ..)| *count > 0);
    let parts: Vec<String> =
        parts.map(|(count, noun, rest)| format!("{}{rest}", plural(*count, noun))).collect();
    let left_out = (!parts.is_empty()).then(|| {
        format!("a flat sheet has no place for {}; a backup has all of it", parts.join(", "))
    });
    let refused = |why| format!("import does not take this sheet as it is: {why}");
    left_out.into_iter().chain(sheet.refused.as_deref().map(refused)).collect()
}
