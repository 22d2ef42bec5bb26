//! The words that describe a planned book, as text, each with its source.

use crate::book::{BookError, Fault, Location, PlanTable};
use crate::terminal::refusal::CliError;
use crate::terminal::words::listed;
use crate::trade::{Pairs, RUN_KEYS, Said, WHOLE_KEYS};
use clap::{ArgMatches, Args, Command, FromArgMatches};
use std::collections::BTreeMap;
use std::fmt::Display;

/// Where words come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Source {
    /// One flag for each word.
    Flags,
    /// The list of `--in-mind`.
    InMind,
    /// A `--run`; its number if there are several.
    Run(Option<usize>),
    /// A table of a file, which starts here.
    File(Location),
}

/// A word, and its place if it is in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Word {
    text: String,
    place: Option<Location>,
}

/// Words by key, about a run or about the whole book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Words {
    source: Source,
    words: BTreeMap<&'static str, Word>,
}

/// The flags that `F` declares, as words: each flag has the name of its key.
#[derive(Clone, Debug)]
pub(crate) struct Typed<F> {
    pub words: Words,
    /// The parsed flags, for those that are not words, such as repeated ones.
    pub flags: F,
}

impl<F: Args> Args for Typed<F> {
    fn group_id() -> Option<clap::Id> {
        F::group_id()
    }

    fn augment_args(command: Command) -> Command {
        F::augment_args(command)
    }

    fn augment_args_for_update(command: Command) -> Command {
        F::augment_args_for_update(command)
    }
}

impl<F: Args> FromArgMatches for Typed<F> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let declared = F::augment_args(Command::new("declared"));
        let is_declared = |key: &&str| declared.get_arguments().any(|arg| arg.get_id() == *key);
        let keys = RUN_KEYS.into_iter().chain(WHOLE_KEYS).filter(is_declared);
        let words = Words::of(Source::Flags, keys, |key| typed(matches, key));
        Ok(Self { words, flags: F::from_arg_matches(matches)? })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

/// The text of a flag; `None` if it was not typed.
fn typed(matches: &ArgMatches, id: &str) -> Option<String> {
    let value = matches.get_raw(id)?.next()?.to_string_lossy().into_owned();
    let by_default = matches.value_source(id) == Some(clap::parser::ValueSource::DefaultValue);
    (!by_default).then_some(value)
}

impl Source {
    /// A fault of the word `key` in this source.
    pub fn fault(&self, key: &'static str, message: &str) -> CliError {
        match self {
            Self::Flags => CliError::value(flag_of(key), message),
            Self::InMind => CliError::value("--in-mind", format!("{key}: {message}")),
            Self::Run(number) => {
                let which = number.map(|number| format!("run {number}, ")).unwrap_or_default();
                let what = if key == "run" { String::new() } else { format!("{key}: ") };
                CliError::value("--run", format!("{which}{what}{message}"))
            }
            Self::File(place) => {
                let fault = Fault { place: place.clone(), message: format!("{key}: {message}") };
                CliError::Book(BookError::Faults { faults: vec![fault] })
            }
        }
    }
}

/// The flag of a key; `--plan` for a key without a flag of its own.
fn flag_of(key: &'static str) -> &'static str {
    const FLAGS: &str = "--paper --caliper --hardness --thread --laid --count --material --sections \
                         --leaves --pages --sheets --on --ends --boned --state --target --round \
                         --shoulder --guards --left-over --hand --fore-edge";
    let is_of = |flag: &&str| flag.trim_start_matches('-').replace('-', "_") == key;
    FLAGS.split(' ').find(is_of).unwrap_or("--plan")
}

/// The units of a book's extent. A bare number means the first of those that a command accepts.
pub(crate) const EXTENTS: [&str; 3] = ["sections", "leaves", "pages"];

/// The key that a word qualifies, without which it means nothing.
fn belongs_to(key: &str) -> Option<&'static str> {
    match key {
        "caliper" | "hardness" => Some("paper"),
        "laid" | "count" | "material" => Some("thread"),
        _ => None,
    }
}

impl Words {
    fn of(
        source: Source,
        keys: impl IntoIterator<Item = &'static str>,
        said: impl Fn(&'static str) -> Option<String>,
    ) -> Self {
        let word = |key| Some((key, Word { text: said(key)?, place: None }));
        Self { source, words: keys.into_iter().filter_map(word).collect() }
    }

    pub fn of_pairs(source: Source, keys: &[&'static str], pairs: &Pairs) -> Self {
        Self::of(source, keys.iter().copied(), |key| pairs.get(key).map(str::to_owned))
    }

    pub fn of_table(name: &str, table: PlanTable) -> Self {
        let words = table.words.into_iter().map(|(key, word)| {
            (key, Word { text: word.text, place: Some(Location::row(name, word.row)) })
        });
        Self { source: Source::File(Location::row(name, table.row)), words: words.collect() }
    }

    /// The words of a plan in the book, which `place` names.
    pub fn of_said(place: &Location, said: &Said) -> Self {
        let word = |text: &String| Word { text: text.clone(), place: Some(place.clone()) };
        let words = said.iter().map(|(key, text)| (*key, word(text))).collect();
        Self { source: Source::File(place.clone()), words }
    }

    /// The words of `keys`, in their order, as `text` writes them.
    pub fn said(&self, keys: &[&'static str], text: impl Fn(&'static str, &str) -> String) -> Said {
        keys.iter().filter_map(|key| Some((*key, text(key, self.get(key)?)))).collect()
    }

    /// Adds the words of `others` for missing keys. A word that qualifies a key given here is not
    /// taken: a size goes with its paper or thread. The same holds for the extent, because a book has
    /// only one.
    pub fn or_else(mut self, others: &Self) -> Self {
        let said: Vec<&str> = self.words.keys().copied().collect();
        let has_extent = EXTENTS.iter().any(|key| said.contains(key));
        for (key, word) in &others.words {
            let is_own = belongs_to(key).is_some_and(|what| said.contains(&what))
                || (has_extent && EXTENTS.contains(key));
            if !is_own && !said.contains(key) {
                self.words.insert(key, word.clone());
            }
        }
        self
    }

    /// Whether those of `keys` that are given were written into a plan before now: into a saved
    /// one, a kept forecast or a file.
    pub fn are_of_plan(&self, keys: &[&str]) -> bool {
        let mut given = keys.iter().filter_map(|key| self.words.get(key));
        given.all(|word| word.place.is_some())
    }

    pub fn is_run(&self) -> bool {
        matches!(self.source, Source::Run(_))
    }

    /// The file that they are from; empty for words that were typed.
    pub fn file(&self) -> &str {
        if let Source::File(place) = &self.source { &place.file } else { "" }
    }

    /// Adds the words of `keys` that another run has, if this one has none of them.
    pub fn or_sizes(mut self, keys: &[&'static str], other: &Self) -> Self {
        if !self.has(keys) {
            let words = keys.iter().filter_map(|key| Some((*key, other.words.get(key)?.clone())));
            self.words.extend(words);
        }
        self
    }

    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    pub fn keys(&self) -> Vec<&'static str> {
        self.words.keys().copied().collect()
    }

    pub fn only(mut self, keys: &[&str]) -> Self {
        self.words.retain(|key, _| keys.contains(key));
        self
    }

    pub fn without(mut self, key: &str) -> Self {
        self.words.remove(key);
        self
    }

    /// Sets `key` to `text` unless it is already given.
    pub fn or_say(mut self, key: &'static str, text: &str) -> Self {
        let word = || Word { text: text.to_owned(), place: None };
        self.words.entry(key).or_insert_with(word);
        self
    }

    /// Whether any of `keys` is given.
    pub fn has(&self, keys: &[&str]) -> bool {
        keys.iter().any(|key| self.words.contains_key(key))
    }

    pub fn get(&self, key: &str) -> Option<&str> {
        self.words.get(key).map(|word| word.text.as_str())
    }

    /// The parsed word of `key`; `None` if it is not given.
    pub fn parsed<T, E: Display>(
        &self,
        key: &'static str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<Option<T>, CliError> {
        let parsed = self.get(key).map(parse).transpose();
        parsed.map_err(|error| self.fault(key, &error.to_string()))
    }

    /// Like [`Words::parsed`], for a required word.
    pub fn needed<T, E: Display>(
        &self,
        key: &'static str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<T, CliError> {
        self.parsed(key, parse)?.ok_or_else(|| self.missing(key, &[key]))
    }

    /// A fault of the word `key`, at its place if it has one.
    pub fn fault(&self, key: &'static str, message: &str) -> CliError {
        match self.words.get(key).and_then(|word| word.place.clone()) {
            Some(place) => Source::File(place).fault(key, message),
            None => self.source.fault(key, message),
        }
    }

    /// The error if none of `keys` is given, or several where one is wanted. For flags it is a
    /// usage error.
    pub fn missing(&self, key: &'static str, keys: &[&'static str]) -> CliError {
        let one = if keys.len() > 1 { "one of " } else { "" };
        let message = format!("give {one}{}", self.named(keys));
        match self.source {
            Source::Flags => CliError::Usage(message),
            Source::InMind | Source::Run(_) | Source::File(_) => self.source.fault(key, &message),
        }
    }

    /// Keys as they are typed in this source: as flags, or as words.
    pub fn named(&self, keys: &[&'static str]) -> String {
        let typed =
            |key: &&'static str| if self.source == Source::Flags { flag_of(key) } else { *key };
        listed(&keys.iter().map(typed).collect::<Vec<_>>())
    }
}
