//! The program without a command: where the book is, its state, what to do next.

use super::text::{no_book_text, overview_text};
use crate::book::{Book, BookError};
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::trade::Name;
use std::collections::BTreeSet;

pub(crate) fn run(session: &mut Session<'_>) -> Outcome {
    let text = match session.open_book() {
        Ok(book) => {
            let steps = next_steps(&book);
            let steps = steps.into_iter().map(|(rest, what)| (session.command(rest), what));
            overview_text(&book, &steps.collect::<Vec<_>>(), session.width())
        }
        Err(CliError::Book(BookError::NotFound { looked })) => no_book_text(&looked),
        Err(error) => return Err(error),
    };
    session.say(&text)?;
    Ok(ExitStatus::Done)
}

/// The commands that make sense next, with what they are for.
fn next_steps(book: &Book) -> Vec<(&'static str, &'static str)> {
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
    let measured: BTreeSet<&Name> = book.readings().iter().map(|reading| &reading.trial).collect();
    if book.trials().iter().any(|trial| !measured.contains(&trial.name)) {
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
    steps
}
