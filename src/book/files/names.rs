//! The files of a book.

macro_rules! files {
    ($($file:ident: $name:literal),*) => {
        /// A file of the book with rows. In the order of writing: a row never names what is not yet
        /// there.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub(in crate::book) enum BookFile { $($file,)* }

        impl BookFile {
            /// Every file with rows.
            pub(in crate::book) const ALL: [Self; [$($name),*].len()] = [$(Self::$file),*];

            /// Its name in the folder.
            pub(in crate::book) fn name(self) -> &'static str {
                match self { $(Self::$file => $name,)* }
            }
        }
    };
}
files! {
    Papers: "papers.csv", Threads: "threads.csv", Targets: "targets.csv", Trials: "trials.csv",
    Readings: "readings.csv", Struck: "struck.csv", Forecasts: "forecasts.csv",
    Headings: "headings.csv", Sent: "sent.csv"
}

/// The settings' file, which makes a folder a book.
pub(in crate::book) const SETTINGS: &str = "book.toml";

impl BookFile {
    /// Whether a book may be without it: it is made with its first row.
    pub(in crate::book) fn is_made_late(self) -> bool {
        matches!(self, Self::Headings | Self::Sent)
    }

    /// The files of a new book.
    pub(in crate::book) fn of_new_book() -> impl Iterator<Item = Self> {
        Self::ALL.into_iter().filter(|file| !file.is_made_late())
    }

    pub(in crate::book) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|file| file.name() == name)
    }
}
