//! The program without a command: shows where the book is, its state, and what to do next.

use super::answer_steps::next_steps;
use super::text::{no_book_text, overview_text};
use crate::book::BookError;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;

pub(crate) fn run(session: &mut Session<'_>) -> Outcome {
    let text = match session.open_book() {
        Ok(book) => {
            let steps = next_steps(&book);
            let steps = steps.into_iter().map(|(rest, what)| (session.command(rest), what));
            let text = overview_text(&book, &steps.collect::<Vec<_>>(), session.width());
            // The program ends here, and freeing millions of readings one by one takes long.
            std::mem::forget(book);
            text
        }
        Err(CliError::Book(BookError::NotFound { looked })) => no_book_text(&looked),
        Err(error) => return Err(error),
    };
    session.say(&text)
}
