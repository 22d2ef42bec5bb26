//! Suggests what to do next with a book.

use crate::book::Book;
use crate::trade::Name;
use std::collections::BTreeSet;

/// The commands that make sense next, each with its purpose.
pub(crate) fn next_steps(book: &Book) -> Vec<(&'static str, &'static str)> {
    let mut steps = Vec::new();
    if book.papers().is_empty() {
        steps.push(("record paper", "a paper from your stock"));
    }
    if book.threads().is_empty() {
        steps.push(("record thread", "a thread from your stock"));
    }
    if book.trials().is_empty() {
        steps.push(("import SHEET", "trials that you keep in a spreadsheet"));
    }
    let stocked = !book.papers().is_empty() && !book.threads().is_empty();
    if !all_are_measured(book) {
        steps.push(("record readings", "what the gauge reads on a trial"));
    }
    if stocked {
        steps.push(("record trial", "the next sewing"));
    }
    if !book.readings().is_empty() {
        steps.push(("fit", "what the trials have taught"));
    }
    if stocked {
        steps.push(("predict --help", "the swell of a planned book"));
    }
    if !book.readings().is_empty() {
        steps.push(("audit", "suspect entries of the book"));
    }
    steps.push(("show", "what the book holds, and all about one entry"));
    steps
}

/// Whether every trial has readings. Readings mostly follow the order of the trials, so the
/// comparison of the two sequences is tried first; it is fast for long books.
fn all_are_measured(book: &Book) -> bool {
    let trials = || book.trials().iter().map(|trial| &trial.name);
    let runs = || book.readings().chunk_by(|one, other| one.trial == other.trial);
    let measured = || runs().map(|run| &run[0].trial);
    trials().eq(measured()) || {
        let measured: BTreeSet<&Name> = measured().collect();
        trials().all(|trial| measured.contains(trial))
    }
}

/// The next step for a book without a measured trial on the way to a prediction.
pub(crate) fn one_step(book: &Book) -> Option<(&'static str, &'static str)> {
    // Skips `import`, because not everyone keeps trials in a spreadsheet.
    next_steps(book).into_iter().find(|(command, _)| !command.starts_with("import"))
}
