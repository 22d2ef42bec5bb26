//! Draws from a fit as CSV, with names that R and Python take as they are.

use super::answer::{DrawTable, DrawnAs, DrawnColumn, DrawnEffect, DrawnOf};
use crate::terminal::mark::DRAWS;
use std::collections::BTreeMap;
use std::fmt::Write;

/// The table with a line of names; every number is written so that it reads back as it is.
pub fn draws_csv(table: &DrawTable) -> String {
    let mut text = format!("{DRAWS},weight");
    for name in names(&table.columns) {
        let _ = write!(text, ",{name}");
    }
    text.push('\n');
    for (row, weight) in table.weights.iter().enumerate() {
        let _ = write!(text, "{},{weight}", row + 1);
        for column in &table.columns {
            let _ = write!(text, ",{}", column.values[row]);
        }
        text.push('\n');
    }
    text
}

fn names(columns: &[DrawnColumn]) -> Vec<String> {
    let mut taken = Taken::default();
    let name = |column: &DrawnColumn| {
        let of = match &column.of {
            DrawnOf::Spread(spread) => format!("spread_{}", spread.name()),
            DrawnOf::Coefficient(name) => name.name().to_owned(),
            DrawnOf::Effect(kind, of) => {
                let kind = kind_word(*kind);
                format!("{kind}__{}", taken.word(kind, of))
            }
        };
        match column.holds {
            DrawnAs::Value => of,
            DrawnAs::Mean => format!("{of}_mean"),
            DrawnAs::Sd => format!("{of}_sd"),
        }
    };
    columns.iter().map(name).collect()
}

/// The words that stand for these names in columns.
pub(crate) fn column_words<'a>(names: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken = Taken::default();
    names.map(|name| taken.word("", name)).collect()
}

fn kind_word(kind: DrawnEffect) -> &'static str {
    match kind {
        DrawnEffect::Paper => "paper",
        DrawnEffect::PaperKnocked => "paper_knocked",
        DrawnEffect::PaperFold => "paper_fold",
        DrawnEffect::Thread => "thread",
        DrawnEffect::Hand => "hand",
    }
}

/// The words that names of one kind were given: no two alike, also where capitals do not count.
#[derive(Default)]
struct Taken(BTreeMap<(&'static str, String), String>);

impl Taken {
    fn word(&mut self, kind: &'static str, name: &str) -> String {
        if let Some(word) = self.0.get(&(kind, name.to_owned())) {
            return word.clone();
        }
        let plain = plain(name);
        let free = |word: &String| {
            let same = |(other, given): (&(&str, String), &String)| {
                other.0 == kind && given.eq_ignore_ascii_case(word)
            };
            !self.0.iter().any(same)
        };
        let numbered = (2..).map(|number| format!("{plain}_{number}"));
        let word = std::iter::once(plain.clone()).chain(numbered).find(free).unwrap_or_default();
        self.0.insert((kind, name.to_owned()), word.clone());
        word
    }
}

/// Letters and digits of ASCII stay; what lies between them becomes one `_`.
fn plain(name: &str) -> String {
    let words = name.split(|letter: char| !letter.is_ascii_alphanumeric());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    if words.is_empty() { "unnamed".to_owned() } else { words.join("_") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_columns_have_one_name() {
        let papers = ["bond 80", "bond-80", "BOND 80", "bond 80 2", "紙", "和", ""];
        let column = |(kind, paper): (DrawnEffect, &&str)| DrawnColumn {
            of: DrawnOf::Effect(kind, (*paper).to_owned()),
            holds: DrawnAs::Value,
            values: Vec::new(),
        };
        let kinds = [DrawnEffect::Paper, DrawnEffect::PaperKnocked];
        let columns = kinds.iter().flat_map(|&kind| papers.iter().map(move |paper| (kind, paper)));
        let found = names(&columns.map(column).collect::<Vec<_>>());
        let wanted = ["bond_80", "bond_80_2", "BOND_80_3", "bond_80_2_2"];
        let wanted = wanted.iter().chain(&["unnamed", "unnamed_2", "unnamed_3"]);
        assert!(
            found[..7]
                .iter()
                .eq(wanted.map(|word| format!("paper__{word}")).collect::<Vec<_>>().iter()),
            "{found:?}"
        );
        let mut small: Vec<String> = found.iter().map(|name| name.to_lowercase()).collect();
        small.sort();
        small.dedup();
        assert_eq!(small.len(), 14, "{found:?}");
    }
}
