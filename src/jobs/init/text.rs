//! The text of `init`.

use crate::book::{Book, Config};
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::beliefs::text_grounds::grounds_words;

pub fn made_line(folder: &str, book: &Book, undo: &str) -> String {
    let threads = match book.threads().len() {
        0 => String::new(),
        count => format!(" and {count} linen threads"),
    };
    let targets = book.targets().len();
    format!(
        "made a new book in {folder} with {targets} starting targets{threads} (to undo: {undo})"
    )
}

/// What to do about the threads that the book starts with; `strike` is an example command.
pub fn threads_line(strike: &str) -> String {
    format!(
        "the diameters of these threads are worked out from their counts (common practice, no \
         source); measure yours, and strike those that you do not have, such as: {strike}"
    )
}

/// What the book's figures start from; `show` is the command that shows them.
pub fn start_line(config: &Config, show: &str) -> String {
    let from = grounds_words(&Grounds::of(config));
    format!("its figures start from {from}; to see them: {show}")
}
