//! Adds common threads to a book that was made without them.

use super::text::starting_line;
use crate::book::Entries;
use crate::terminal::refusal::CliError;
use crate::terminal::session::{Session, quoted};
use crate::trade::{Thread, starting_threads};

pub(crate) fn add_starting(names: &[&str], session: &mut Session<'_>) -> Result<(), CliError> {
    let mut book = session.open_book()?;
    let is_named = |thread: &Thread| names.contains(&thread.name.as_str());
    let threads: Vec<Thread> = starting_threads().into_iter().filter(is_named).collect();
    if threads.is_empty() {
        return Err(CliError::Missing { flags: vec!["--thread"] });
    }
    let line = starting_line(&threads);
    let ids: Vec<String> = threads.iter().map(|thread| quoted(thread.name.as_str())).collect();
    session.append(&mut book, Entries { threads, ..Entries::default() })?;
    session.changed(&line, &format!("strike thread {}", ids.join(" ")))
}
