use super::added::Added;
use crate::book::files::names::BookFile;
use crate::trade::{
    Name, Paper, Place, Reading, SavedPlan, SendNumber, State, Target, Thread, Trial, words,
};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Calls the given macro with every kind of entry: its list, type and file.
macro_rules! for_each_kind {
    ($make:ident) => {
        $make! {
            papers: $crate::trade::Paper, Papers;
            threads: $crate::trade::Thread, Threads;
            targets: $crate::trade::Target, Targets;
            trials: $crate::trade::Trial, Trials;
            readings: $crate::trade::Reading, Readings;
            strikes: $crate::book::entries::held::Strike, Struck;
            forecasts: $crate::trade::KeptForecast, Forecasts;
            plans: $crate::trade::SavedPlan, Plans;
            headings: $crate::book::entries::held::OwnHeading, Headings;
            changes: $crate::book::entries::held::Change, Changes;
        }
    };
}
pub(in crate::book) use for_each_kind;

macro_rules! entries {
    ($($list:ident: $kind:ty, $file:ident;)*) => {
        /// Entries of every kind, in order.
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct Entries {
            $(#[doc = concat!("The ", stringify!($list), ".")] pub $list: Vec<$kind>,)*
        }

        /// The number of entries written, by kind.
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
        pub struct Written {
            $(#[doc = concat!("How many ", stringify!($list), ".")] pub $list: usize,)*
        }

        impl Entries {
            pub fn written(&self) -> Written {
                Written { $($list: self.$list.len(),)* }
            }

            pub(in crate::book) fn count_of(&self, file: BookFile) -> usize {
                match file { $(BookFile::$file => self.$list.len(),)* }
            }
        }
    };
}
for_each_kind!(entries);

impl Entries {
    pub fn is_empty(&self) -> bool {
        self.written() == Written::default()
    }
}

/// The kinds of entry that can be struck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EntryKind {
    Paper,
    Thread,
    Target,
    /// A trial, with its readings.
    Trial,
    /// A reading, named `trial/state/place` (see [`reading_id`]).
    Reading,
    /// A kept forecast; the second one of a name is `NAME/2`.
    Forecast,
    Plan,
}

words!(
    EntryKind:
    Paper = "paper" | "papers", Thread = "thread" | "threads", Target = "target" | "targets",
    Trial = "trial" | "trials", Reading = "reading" | "readings", Forecast = "forecast" | "forecasts",
    Plan = "plan" | "plans"
);

/// An entry that is found and struck by its name.
pub trait Named {
    const KIND: EntryKind;

    fn name(&self) -> &Name;
}

macro_rules! named {
    ($($type:ident: $kind:ident),*) => {
        $(impl Named for $type {
            const KIND: EntryKind = EntryKind::$kind;

            fn name(&self) -> &Name {
                &self.name
            }
        })*
    };
}
named!(Paper: Paper, Thread: Thread, Target: Target, Trial: Trial, SavedPlan: Plan);

pub fn entry_named<'a, T: Named>(all: &'a [T], name: &str) -> Option<&'a T> {
    all.iter().find(|one| one.name().as_str() == name)
}

pub fn names_of<T: Named>(all: &[T]) -> Vec<&str> {
    all.iter().map(|one| one.name().as_str()).collect()
}

pub(in crate::book) type ByName<'a, T> = BTreeMap<&'a Name, &'a T>;

/// Entries by name. Of several with one name it is the last.
pub(in crate::book) fn by_name<'a, T: Named>(
    all: impl IntoIterator<Item = &'a T>,
) -> ByName<'a, T> {
    all.into_iter().map(|one| (one.name(), one)).collect()
}

impl From<Trial> for Entries {
    fn from(trial: Trial) -> Self {
        Self { trials: vec![trial], ..Self::default() }
    }
}

impl From<Vec<Reading>> for Entries {
    fn from(readings: Vec<Reading>) -> Self {
        Self { readings, ..Self::default() }
    }
}

pub type ReadingKey<'a> = (&'a Name, State, &'a Place);

pub(in crate::book) fn reading_key(reading: &Reading) -> ReadingKey<'_> {
    (&reading.trial, reading.state, &reading.place)
}

/// The id of a reading in `struck.csv`: `trial/state/place`. A backslash escapes slashes and
/// backslashes in names, so no two readings share an id.
pub fn reading_id(reading: &Reading) -> String {
    format!("{}/{}/{}", in_id(&reading.trial), reading.state, in_id(&reading.place))
}

/// A name, escaped for use in an id.
pub fn in_id(name: &impl AsRef<str>) -> String {
    name.as_ref().replace('\\', r"\\").replace('/', r"\/")
}

/// An id without the escaping backslashes, as in the `struck.csv` of older books and as a person
/// types it. Two entries may share one.
pub fn plain_id(id: &str) -> String {
    let mut plain = String::new();
    let mut letters = id.chars();
    while let Some(c) = letters.next() {
        plain.extend(if c == '\\' { letters.next() } else { Some(c) });
    }
    plain
}

/// A struck entry. It stays readable in its file but is not used.
#[derive(Clone, Debug, PartialEq)]
pub struct Strike {
    pub what: EntryKind,
    /// Its name; for a reading `trial/state/place`, for a later forecast of a name `NAME/2`.
    pub id: String,
    pub reason: String,
    pub date: Date,
}

/// The meaning of a heading in the binder's own sheets. The last one given for a heading counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnHeading {
    pub heading: String,
    /// The column of the flat sheet, with a unit if its lengths are not in millimetres. Empty if
    /// the column is ignored.
    pub column: String,
}

/// One write to the book: what was added to the files, in words and as rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    pub date: Date,
    /// What was written, in one line.
    pub said: String,
    /// The added rows; `None` for a row written by hand, which cannot be undone.
    pub(in crate::book) added: Option<Added>,
    /// Whether it is an undo or a redo.
    pub turn: Option<Turn>,
    /// The number of the form that sent it. A form with the same number is not written again.
    pub number: Option<SendNumber>,
}

impl Change {
    /// The first words about entries that `restore` brought back.
    pub const BROUGHT_BACK: &str = "brought back";

    /// A change that is about to be written.
    pub fn new(said: String, date: Date) -> Self {
        Self { date, said, added: None, turn: None, number: None }
    }

    #[must_use]
    pub fn turning(self, turn: Turn) -> Self {
        Self { turn: Some(turn), ..self }
    }

    /// Whether what it added was in the book before.
    pub(in crate::book) fn brings_back(&self) -> bool {
        self.turn.is_some() || self.said.starts_with(Self::BROUGHT_BACK)
    }

    /// Whether the rows that it added are known.
    pub fn can_be_undone(&self) -> bool {
        self.added.is_some()
    }
}

/// What a change did to an earlier one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Took back the last change that counted.
    Undo,
    /// Restored what the last undo took back.
    Redo,
}

words!(Turn: Undo = "undo", Redo = "redo");

impl Turn {
    /// The reason of its strikes. `changes.csv` says what was undone, and there may be a strike for
    /// each of very many readings, so it is short.
    pub(in crate::book) fn reason(self) -> &'static str {
        match self {
            Self::Undo => "undone",
            Self::Redo => "redone",
        }
    }
}
