//! What was corrected along with an entry.

use crate::book::{EntryKind, Written};
use crate::terminal::number::plural;

/// What stays with the corrected entry: `, with its 3 readings and 1 forecast`.
pub(crate) fn along_words(kind: EntryKind, written: Written) -> String {
    let Written { trials, readings, forecasts, plans, .. } = written;
    let along = match kind {
        EntryKind::Trial => [(readings, "reading"), (forecasts, "forecast")],
        EntryKind::Paper | EntryKind::Thread => [(trials, "trial"), (plans, "saved plan")],
        _ => [(plans, "saved plan"), (0, "")],
    };
    let along = along.into_iter().filter(|(count, _)| *count > 0);
    let along: Vec<String> = along.map(|(count, what)| plural(count, what)).collect();
    if along.is_empty() { String::new() } else { format!(", with its {}", along.join(" and ")) }
}
