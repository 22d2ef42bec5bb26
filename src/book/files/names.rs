//! The files of a book and their columns.

use crate::book::csv::columns::Column;

/// A file of the book with rows. In the order of writing: a row never names what is not yet there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::book) enum BookFile {
    Papers,
    Threads,
    Targets,
    Trials,
    Readings,
    Struck,
    Forecasts,
}

/// The settings' file, which makes a folder a book.
pub(in crate::book) const SETTINGS: &str = "book.toml";

impl BookFile {
    /// Every file with rows.
    pub(in crate::book) const ALL: [Self; 7] = [
        Self::Papers,
        Self::Threads,
        Self::Targets,
        Self::Trials,
        Self::Readings,
        Self::Struck,
        Self::Forecasts,
    ];

    /// Its name in the folder.
    pub(in crate::book) fn name(self) -> &'static str {
        match self {
            Self::Papers => "papers.csv",
            Self::Threads => "threads.csv",
            Self::Targets => "targets.csv",
            Self::Trials => "trials.csv",
            Self::Readings => "readings.csv",
            Self::Struck => "struck.csv",
            Self::Forecasts => "forecasts.csv",
        }
    }

    /// The file of that name.
    pub(in crate::book) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|file| file.name() == name)
    }

    /// Its columns, in the order of a new file.
    pub(in crate::book) fn layout(self) -> &'static [Column] {
        match self {
            Self::Papers => PAPERS,
            Self::Threads => THREADS,
            Self::Targets => TARGETS,
            Self::Trials => TRIALS,
            Self::Readings => READINGS,
            Self::Struck => STRUCK,
            Self::Forecasts => FORECASTS,
        }
    }
}

const PAPERS: &[Column] = &[
    Column::required("paper"),
    Column::optional("grammage_gsm").number(),
    Column::required("caliper_mm").number(),
    Column::required("hardness"),
    Column::optional("note"),
];

const THREADS: &[Column] = &[
    Column::required("thread"),
    Column::optional("material"),
    Column::optional("count"),
    Column::optional("laid_mm").number(),
    Column::optional("note"),
];

const TARGETS: &[Column] = &[
    Column::required("target"),
    Column::required("low_percent").number(),
    Column::required("high_percent").number(),
    Column::optional("note"),
];

const TRIALS: &[Column] = &[
    Column::required("trial"),
    Column::optional("date"),
    Column::optional("kind"),
    Column::required("paper"),
    Column::required("thread"),
    Column::required("sections"),
    Column::required("sheets"),
    Column::optional("on"),
    Column::optional("ends"),
    Column::optional("boned"),
    Column::optional("guards_mm").number(),
    Column::optional("hand"),
    Column::optional("note"),
];

const READINGS: &[Column] = &[
    Column::required("trial"),
    Column::required("state"),
    Column::required("place"),
    Column::required("spine_mm").number(),
    Column::required("fore_edge_mm").number(),
    Column::optional("taken"),
    Column::optional("note"),
];

const STRUCK: &[Column] = &[
    Column::required("what"),
    Column::required("id"),
    Column::required("reason"),
    Column::required("date"),
];

const FORECASTS: &[Column] = &[
    Column::required("forecast"),
    Column::required("made"),
    Column::required("plan"),
    Column::required("quantiles"),
    Column::optional("target"),
    Column::optional("chance").number(),
    Column::optional("outcome").number(),
];
