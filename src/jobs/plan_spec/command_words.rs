//! What is said of a planned book, as text, and where it was said.

use crate::book::{BookError, Fault, Location, PlanTable, RUN_KEYS};
use crate::terminal::refusal::CliError;
use crate::trade::Pairs;
use std::collections::BTreeMap;

/// Where a run was said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Source {
    /// By a flag for each word.
    Flags,
    /// By `--run`; its number where there are several.
    Run(Option<usize>),
    /// In a table of a file, which begins in this line.
    File { name: String, row: usize },
}

/// A word and the line it stands in, where it is in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Word {
    text: String,
    row: Option<usize>,
}

/// The words of one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct RunWords {
    source: Source,
    words: BTreeMap<&'static str, Word>,
}

/// The words about the whole book: each with the place it came from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct WholeWords {
    words: BTreeMap<&'static str, (Option<String>, Word)>,
}

impl Source {
    /// A fault of what was said here about `key`.
    pub fn fault(&self, key: &'static str, message: &str) -> CliError {
        self.fault_at(key, message, None)
    }

    fn fault_at(&self, key: &'static str, message: &str, row: Option<usize>) -> CliError {
        match self {
            Self::Flags => CliError::Value { flag: flag_of(key), message: message.to_owned() },
            Self::Run(number) => {
                let which = number.map(|number| format!("run {number}, ")).unwrap_or_default();
                let what = if key == "run" { String::new() } else { format!("{key}: ") };
                CliError::Value { flag: "--run", message: format!("{which}{what}{message}") }
            }
            Self::File { name, row: start } => in_file(name, row.unwrap_or(*start), key, message),
        }
    }
}

/// A fault in a line of a file.
fn in_file(name: &str, row: usize, key: &str, message: &str) -> CliError {
    let place = Location { file: name.to_owned(), row: Some(row), column: None };
    let fault = Fault { place, message: format!("{key}: {message}") };
    CliError::Book(BookError::Faults { faults: vec![fault] })
}

/// The flag of a key.
fn flag_of(key: &'static str) -> &'static str {
    const FLAGS: [(&str, &str); 20] = [
        ("paper", "--paper"),
        ("caliper", "--caliper"),
        ("hardness", "--hardness"),
        ("thread", "--thread"),
        ("laid", "--laid"),
        ("count", "--count"),
        ("material", "--material"),
        ("sections", "--sections"),
        ("leaves", "--leaves"),
        ("pages", "--pages"),
        ("sheets", "--sheets"),
        ("on", "--on"),
        ("ends", "--ends"),
        ("boned", "--boned"),
        ("state", "--state"),
        ("target", "--target"),
        ("round", "--round"),
        ("shoulder", "--shoulder"),
        ("left_over", "--left-over"),
        ("hand", "--hand"),
    ];
    let found = FLAGS.iter().find(|(known, _)| *known == key);
    found.map_or(if key == "guards" { "--guards" } else { "--fore-edge" }, |(_, flag)| flag)
}

impl RunWords {
    /// The words of the flags that were given.
    pub fn of_flags<'f>(
        flags: impl IntoIterator<Item = (&'static str, &'f Option<String>)>,
    ) -> Self {
        let word = |(key, value): (&'static str, &Option<String>)| {
            Some((key, Word { text: value.clone()?, row: None }))
        };
        let words = flags.into_iter().filter_map(word).collect();
        Self { source: Source::Flags, words }
    }

    /// The words of a list of pairs.
    pub fn of_pairs(source: Source, pairs: &Pairs) -> Self {
        let word =
            |key: &'static str| Some((key, Word { text: pairs.get(key)?.to_owned(), row: None }));
        Self { source, words: RUN_KEYS.into_iter().filter_map(word).collect() }
    }

    /// The words of a table of a file.
    pub fn of_table(name: &str, table: PlanTable) -> Self {
        let source = Source::File { name: name.to_owned(), row: table.row };
        let word = |(key, word): (&'static str, crate::book::PlanWord)| {
            (key, Word { text: word.text, row: Some(word.row) })
        };
        Self { source, words: table.words.into_iter().map(word).collect() }
    }

    /// With the words of `others` for what is not said here. How many sections, and how large a
    /// new paper or thread is, goes with what it was said of.
    pub fn or_else(mut self, others: &Self) -> Self {
        for (key, word) in &others.words {
            let goes_with = match *key {
                "caliper" | "hardness" => Some("paper"),
                "laid" | "count" | "material" => Some("thread"),
                _ => None,
            };
            let own = goes_with.is_some_and(|what| self.words.contains_key(what));
            if !own {
                self.words.entry(key).or_insert_with(|| word.clone());
            }
        }
        self
    }

    /// Without what is said of `key`.
    pub fn without(mut self, key: &str) -> Self {
        self.words.remove(key);
        self
    }

    /// What is said of `key`.
    pub fn get(&self, key: &str) -> Option<&str> {
        self.words.get(key).map(|word| word.text.as_str())
    }

    /// What `parse` makes of what is said of `key`; `None` where nothing is.
    ///
    /// # Errors
    /// A fault at the place of the word.
    pub fn parsed<T>(
        &self,
        key: &'static str,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> Result<Option<T>, CliError> {
        let Some(word) = self.words.get(key) else { return Ok(None) };
        parse(&word.text).map(Some).map_err(|message| self.fault(key, &message))
    }

    /// A fault of what is said of `key`, or of its not being said.
    pub fn fault(&self, key: &'static str, message: &str) -> CliError {
        let row = self.words.get(key).and_then(|word| word.row);
        self.source.fault_at(key, message, row)
    }

    /// That none of `keys` is said, or several where one is wanted. By flags alone the command
    /// line itself is at fault.
    pub fn missing(&self, key: &'static str, keys: &[&'static str]) -> CliError {
        let one = if keys.len() > 1 { "one of " } else { "" };
        let message = format!("give {one}{}", self.named(keys));
        match self.source {
            Source::Flags => CliError::Usage(message),
            Source::Run(_) | Source::File { .. } => self.source.fault_at(key, &message, None),
        }
    }

    /// Keys as they are typed here: flags, or words.
    pub fn named(&self, keys: &[&'static str]) -> String {
        let typed: Vec<&str> = keys
            .iter()
            .map(|key| if self.source == Source::Flags { flag_of(key) } else { *key })
            .collect();
        match typed.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            Some((last, _)) => (*last).to_owned(),
            None => String::new(),
        }
    }
}

impl WholeWords {
    /// The words of the flags that were given.
    pub fn of_flags<const N: usize>(flags: [(&'static str, &Option<String>); N]) -> Self {
        let word = |(key, value): (&'static str, &Option<String>)| {
            Some((key, (None, Word { text: value.clone()?, row: None })))
        };
        Self { words: flags.into_iter().filter_map(word).collect() }
    }

    /// With the words of a file for what is not said here. A shoulder belongs to its arc.
    pub fn over(mut self, name: &str, table: PlanTable) -> Self {
        let round = self.words.contains_key("round");
        for (key, word) in table.words {
            if !(key == "shoulder" && round) {
                let word = Word { text: word.text, row: Some(word.row) };
                self.words.entry(key).or_insert_with(|| (Some(name.to_owned()), word));
            }
        }
        self
    }

    /// As [`RunWords::parsed`].
    ///
    /// # Errors
    /// A fault at the place of the word.
    pub fn parsed<T>(
        &self,
        key: &'static str,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> Result<Option<T>, CliError> {
        let Some((_, word)) = self.words.get(key) else { return Ok(None) };
        parse(&word.text).map(Some).map_err(|message| self.fault(key, &message))
    }

    /// A fault of what is said of `key`.
    pub fn fault(&self, key: &'static str, message: &str) -> CliError {
        match self.words.get(key) {
            Some((Some(file), word)) => in_file(file, word.row.unwrap_or(1), key, message),
            Some((None, _)) | None => Source::Flags.fault(key, message),
        }
    }
}
