//! The files of a book.

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
}
