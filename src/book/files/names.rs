macro_rules! files {
    ($($file:ident: $name:literal),*) => {
        /// A file of the book with rows. They are in the order of writing: a row refers only to
        /// entries that are written before it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub(in crate::book) enum BookFile { $($file,)* }

        impl BookFile {
            /// Every file with rows.
            pub(in crate::book) const ALL: [Self; [$($name),*].len()] = [$(Self::$file),*];

            pub(in crate::book) fn name(self) -> &'static str {
                match self { $(Self::$file => $name,)* }
            }
        }
    };
}
files! {
    Papers: "papers.csv", Threads: "threads.csv", Targets: "targets.csv", Trials: "trials.csv",
    Readings: "readings.csv", Struck: "struck.csv", Forecasts: "forecasts.csv",
    Plans: "plans.csv", Headings: "headings.csv", Changes: "changes.csv"
}

/// The settings file. A folder with this file is a book.
pub(in crate::book) const SETTINGS: &str = "book.toml";

impl BookFile {
    /// Whether a book may lack it: it is made with its first row. A book of an older program lacks
    /// `changes.csv`.
    pub(in crate::book) fn is_made_late(self) -> bool {
        matches!(self, Self::Plans | Self::Headings | Self::Changes)
    }

    /// The files of a new book, without those that not every book needs.
    pub(in crate::book) fn of_new_book() -> impl Iterator<Item = Self> {
        Self::ALL.into_iter().filter(|file| !matches!(file, Self::Plans | Self::Headings))
    }

    pub(in crate::book) fn stem(self) -> &'static str {
        self.name().trim_end_matches(".csv")
    }

    pub(in crate::book) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|file| file.name() == name)
    }
}
