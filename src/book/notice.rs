//! Notices: what was passed over while reading. They are not faults, but the binder should know.

use super::location::Location;
use super::notice_words::{
    as_it_is, cell_words, lines_since, others_too, read_as, skipped, staying, where_lost,
};
use crate::book::files::names::SETTINGS;
use thiserror::Error;

/// Something that was passed over.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Notice {
    /// Empty rows between others.
    #[error("{place}: {}", skipped(*count))]
    BlankRows {
        /// The first of them.
        place: Location,
        count: usize,
    },
    /// A column that is ignored.
    #[error("{place}: column '{column}' is not read")]
    UnreadColumn {
        /// The header.
        place: Location,
        /// The name of the column.
        column: String,
    },
    /// Columns that have other names in the sheet.
    #[error("{place}: read {}", read_as(columns))]
    ReadColumns {
        /// The header.
        place: Location,
        /// Each heading, and the column it was read as.
        columns: Vec<(String, String)>,
    },
    /// A sheet gives a value for something that the book has without it, or a note that it has
    /// otherwise.
    #[error("{place}: the book has {what}; {}", as_it_is(*more, way.as_deref()))]
    NotAdded {
        /// The first such cell.
        place: Location,
        /// What the book has: `no grammage_gsm of paper 'laid'`.
        what: String,
        /// How many more there are.
        more: usize,
        /// The command that adds it.
        way: Option<String>,
    },
    /// A cell of a sheet that was read differently from its text. Others of its column may have
    /// been too.
    #[error("{place}: '{found}' is read as {meant}; so are cells like it in this column")]
    ReadAs {
        /// The first such cell.
        place: Location,
        /// Its text.
        found: String,
        /// What it was read as.
        meant: String,
    },
    /// A reading or trial of the sheet that was struck from the book, and is not added again.
    #[error("{place}: {what} was struck from the book and is not added again; {way}")]
    Struck {
        /// The row.
        place: Location,
        /// What was struck.
        what: String,
        /// How to bring it back.
        way: String,
    },
    /// A sheet adds readings to a state and lacks some that the book has.
    #[error(
        "{place}: this is a new reading of {what}, but the book also has {held}, which the sheet lacks; \
        if the sheet corrects it, strike the old one: {way}"
    )]
    Lacking {
        /// The first new row.
        place: Location,
        /// The trial and the state.
        what: String,
        /// The readings that the sheet lacks.
        held: String,
        /// The command that strikes them.
        way: String,
    },
    /// A command was stopped before it had cleaned up; all of it is kept.
    #[error(
        "{place}: an earlier command did not finish; everything it was adding is used, as the files \
        are now"
    )]
    Finished {
        /// The journal.
        place: Location,
    },
    /// All of a command is kept, but cleaning up after it failed.
    #[error(
        "{place}: everything is saved, but the clean-up afterwards failed ({why}); let swellbook write \
        once more before you edit the files"
    )]
    Untidy {
        /// The journal.
        place: Location,
        /// The error of the system.
        why: String,
    },
    /// A command was stopped before it was done, and a file it was adding to was edited since. It
    /// was taken back, except for rows that the edited files contain.
    #[error(
        "{place}: an earlier command did not finish, and a file it was adding to was edited since; {}, \
        and everything it was adding is saved in {aside}",
        staying(stays)
    )]
    TakenBack {
        /// The journal.
        place: Location,
        /// The file that keeps what it was adding.
        aside: &'static str,
        /// The files that were saved with the rows it added to them.
        stays: Vec<&'static str>,
    },
    /// A last line that was cut off and does not count.
    #[error(
        "{place}: the last line was cut off and is not used; complete it, with its line end, or the \
        next command that writes moves it to {aside}"
    )]
    CutOff {
        place: Location,
        /// The file it will be moved to by the next write.
        aside: String,
    },
    /// A last line that was cut off and was moved out of the file.
    #[error(
        "{place}: the last line was cut off and was moved to {aside}; the original file is saved as \
        {backup}"
    )]
    SetAside {
        place: Location,
        /// The file it was moved to.
        aside: String,
        /// The backup of the original file.
        backup: String,
    },
    /// Lines that were set aside earlier.
    #[error(
        "{place}: this file holds what was cut off or not finished; record again what is missing, then \
        remove this file"
    )]
    Aside {
        /// The file that holds them.
        place: Location,
    },
    /// A file that a program beside this one made of a file of the book.
    #[error(
        "{place}: this looks like a copy of {of}, as programs make that synchronise folders; it is not \
        read; compare it with {of}, add what is missing there, then remove this file"
    )]
    Copy {
        /// The file.
        place: Location,
        /// The file of the book.
        of: &'static str,
    },
    /// It is not known what some files held after the last write.
    #[error(
        "{place}: missing or incomplete, so edits of {} by other programs cannot be noticed; once the \
        files are right, swellbook notes what they hold with `swellbook audit --accept`",
        files.join(", ")
    )]
    Unwatched {
        /// The file of digests.
        place: Location,
        files: Vec<&'static str>,
    },
    /// A file was saved by another program while a command was adding to it; it has both changes.
    #[error(
        "{place}: this file was changed outside swellbook while a command added to it; both changes are \
        in it; check that it is as you want it"
    )]
    Saved {
        /// The file.
        place: Location,
    },
    /// The settings are shorter than they were, so a part may be missing.
    #[error(
        "{place}: shorter than it was ({then} → {now} lines), so settings may be missing, such as the \
        unit; restore it from a copy, or accept it with `swellbook audit --accept`"
    )]
    Shorter {
        /// The file.
        place: Location,
        /// Its number of lines then.
        then: u64,
        /// Its number of lines now.
        now: u64,
    },
    /// In a file that was edited, the wrong one of the rows of an entry may be struck.
    #[error(
        "{place}: this row counts as {what}, with {column} {}, and row {other} counts as struck, with \
        {}; the file was changed outside swellbook, so it may be the other way round{}; sort the rows \
        back or correct the entry, then accept the file: swellbook audit --accept",
        cell_words(&values[0]),
        cell_words(&values[1]),
        others_too(*more)
    )]
    Unsure {
        /// The row that counts.
        place: Location,
        /// The entry, such as `reading 'T1/sewn/2'`.
        what: String,
        /// The first column in which the two rows differ.
        column: &'static str,
        /// What it holds in the row that counts, and in the other.
        values: [String; 2],
        /// The number of the row that counts as struck.
        other: usize,
        /// How many more such pairs the file has.
        more: usize,
    },
    /// A file was changed since the program last wrote to it.
    #[error(
        "{place}: changed outside swellbook since its last write: {}{}",
        lines_since(*then, *now),
        where_lost(self.has_lost_lines())
    )]
    Edited {
        /// The file.
        place: Location,
        /// Its number of lines then.
        then: u64,
        /// Its number of lines now.
        now: u64,
    },
}

impl Notice {
    pub fn place(&self) -> &Location {
        match self {
            Self::BlankRows { place, .. }
            | Self::UnreadColumn { place, .. }
            | Self::ReadColumns { place, .. }
            | Self::NotAdded { place, .. }
            | Self::ReadAs { place, .. }
            | Self::Struck { place, .. }
            | Self::Lacking { place, .. }
            | Self::Finished { place }
            | Self::Untidy { place, .. }
            | Self::TakenBack { place, .. }
            | Self::CutOff { place, .. }
            | Self::SetAside { place, .. }
            | Self::Aside { place }
            | Self::Copy { place, .. }
            | Self::Unwatched { place, .. }
            | Self::Saved { place }
            | Self::Shorter { place, .. }
            | Self::Unsure { place, .. }
            | Self::Edited { place, .. } => place,
        }
    }

    /// Whether it is about the settings rather than entries.
    pub fn is_of_settings(&self) -> bool {
        *self.place().file == *SETTINGS
    }

    /// Whether it says only that a file was changed outside swellbook, perhaps with good reason.
    pub fn is_of_an_edit(&self) -> bool {
        matches!(self, Self::Edited { .. } | Self::Saved { .. })
    }

    /// Whether a file was changed outside swellbook and has fewer lines than before.
    pub fn has_lost_lines(&self) -> bool {
        matches!(self, Self::Edited { then, now, .. } if now < then)
    }
}
