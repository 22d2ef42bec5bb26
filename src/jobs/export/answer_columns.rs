//! Turns names into words for the columns of a table.

use std::collections::BTreeMap;

/// The words for these names in columns, no two alike.
pub(crate) fn column_words<'a>(names: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken = Taken::default();
    names.map(|name| taken.word("", name)).collect()
}

/// The words given to names so far. Within a kind no two are alike, even ignoring case.
#[derive(Default)]
pub(crate) struct Taken(BTreeMap<(&'static str, String), String>);

impl Taken {
    pub(crate) fn word(&mut self, kind: &'static str, name: &str) -> String {
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

/// Keeps ASCII letters and digits; whatever is between them becomes one `_`.
pub(crate) fn plain(name: &str) -> String {
    let words = name.split(|letter: char| !letter.is_ascii_alphanumeric());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    if words.is_empty() { "unnamed".to_owned() } else { words.join("_") }
}
