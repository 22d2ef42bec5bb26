//! What the pages say about entries that look wrong.

use super::answer::{all_doubts, open_findings};
use super::command::open_words;
use crate::book::{Finding, audit};
use crate::jobs::desk::{Day, Desk};
use crate::jobs::memory::Kept;
use crate::page::turned::Turned;
use crate::terminal::refusal::CliError;
use std::sync::Arc;

const OPEN: &str = "Looking through the book.";
const ALL: &str = "Looking through the book, and predicting each trial from the others.";

/// A line saying that some entries look wrong and still count; `None` if none do.
pub(crate) fn open_line(desk: &Desk) -> Result<Option<String>, Turned> {
    let open = desk.of_today(OPEN, |kept, today| {
        Ok(open_findings(&kept.book, &kept.bench.observations, today))
    })?;
    Ok(open_words(*open))
}

/// Everything that looks wrong in the book, and what is good to know.
pub(crate) fn all_findings(desk: &Desk) -> Result<Arc<Vec<Finding>>, Turned> {
    desk.of_today(ALL, findings)
}

fn findings(kept: &Kept, today: Day) -> Result<Vec<Finding>, CliError> {
    Ok(all_doubts(&kept.book, audit(&kept.book, today))?)
}
