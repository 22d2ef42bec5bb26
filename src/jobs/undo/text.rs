//! The text of `undo --list`.

use super::answer::{Changes, Listed, Standing};
use crate::terminal::number::plural;

/// The most changes listed.
pub(crate) const LISTED: usize = 20;

/// The last changes, one per line.
pub(crate) fn changes_text(all: &Changes) -> String {
    if all.changes.is_empty() {
        return "no changes are recorded yet".to_owned();
    }
    let mut lines: Vec<String> = all.changes.iter().take(LISTED).map(line).collect();
    if let Some(more) = all.changes.len().checked_sub(LISTED).filter(|more| *more > 0) {
        lines.push(format!("and {} before; changes.csv has all of them", plural(more, "change")));
    }
    lines.join("\n")
}

fn line(Listed { date, change, standing }: &Listed) -> String {
    let beside = match standing {
        Standing::Counts | Standing::Turned => "",
        Standing::Undone => " (undone)",
        Standing::Unknown => " (cannot be undone: its rows were not logged)",
    };
    format!("{date}  {change}{beside}")
}
