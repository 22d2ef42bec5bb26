//! The text of the program without a command.

use crate::book::Book;
use crate::terminal::number::{length, plural};
use crate::units::shown_path;

/// The book, its state, and the commands that make sense next, each with its purpose.
pub fn overview_text(book: &Book, steps: &[(String, &str)], width: usize) -> String {
    let mut counts = vec![
        plural(book.papers().len(), "paper"),
        plural(book.threads().len(), "thread"),
        plural(book.targets().len(), "target"),
        plural(book.trials().len(), "trial"),
        plural(book.readings().len(), "reading"),
    ];
    if !book.forecasts().is_empty() {
        counts.push(plural(book.forecasts().len(), "kept forecast"));
    }
    let struck = match book.struck().len() {
        0 => String::new(),
        count => format!("; {count} struck"),
    };
    let config = book.config();
    format!(
        "{}\n  in {}\n  {}{struck}\n  unit {}, the gauge reads to {}\n\nnext:\n{}\n{}",
        config.title,
        shown_path(book.dir()),
        counts.join(", "),
        config.unit,
        length(config.resolution, config),
        steps_text(steps, width),
        "every command: swellbook --help"
    )
}

/// One step per line; the purpose goes below if the line is too narrow.
fn steps_text(steps: &[(String, &str)], width: usize) -> String {
    let longest = steps.iter().map(|(command, _)| command.chars().count()).max().unwrap_or(0);
    let line = |(command, what): &(String, &str)| {
        if longest + what.chars().count() + 4 <= width {
            format!("  {command:longest$}  {what}\n")
        } else {
            format!("  {command}\n      {what}\n")
        }
    };
    steps.iter().map(line).collect()
}

/// The text without a book: where it was searched for, and how to make one.
pub fn no_book_text(looked: &str) -> String {
    format!(
        "no book yet ({looked})\n\nnext:\n  swellbook init DIR   make a book in a folder\n  \
         swellbook tour       see the whole job on an invented book\n  \
         swellbook --help     every command"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_narrow_terminal_puts_the_reason_below() {
        let steps = [("swellbook record paper".to_owned(), "a paper from your stock")];
        assert_eq!(steps_text(&steps, 80).lines().count(), 1);
        assert!(steps_text(&steps, 40).lines().all(|line| line.chars().count() <= 40));
    }
}
