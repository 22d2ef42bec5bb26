//! In what an entry differs from what it was, in a sentence.

use crate::book::{Config, Difference, EntryKind};
use crate::terminal::number::fine_length;
use crate::units::Millimetres;

/// The changed values: `trial T1: sheets 4 → 3, boned no → yes`.
pub(crate) fn changed_words(
    kind: EntryKind,
    id: &str,
    differences: &[Difference],
    config: &Config,
) -> String {
    let length = |text: &str| Millimetres::new(text.parse().ok()?);
    let cell = |column: &str, text: &str| match length(text) {
        _ if text.is_empty() => "nothing".to_owned(),
        Some(length) if column.ends_with("_mm") => fine_length(length, config),
        _ => text.to_owned(),
    };
    let words = |it: &Difference| {
        let column = ["_mm", "_gsm", "_percent"]
            .iter()
            .fold(it.column, |name, unit| name.trim_end_matches(unit))
            .replace('_', "-");
        // The column with the entry's own name is called after its kind.
        let column = if column == kind.word() { "name" } else { &column };
        format!("{column} {} → {}", cell(it.column, &it.was), cell(it.column, &it.is))
    };
    let all: Vec<String> = differences.iter().map(words).collect();
    format!("{kind} {id}: {}", all.join(", "))
}
