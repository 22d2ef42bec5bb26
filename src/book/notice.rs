//! Notices: what was passed over while reading. They are not faults, but the binder should know.

use super::location::Location;
use super::notice_words::{
    as_it_is, cell_words, lines_since, others_too, read_as, skipped, staying, where_lost,
};
use crate::book::files::names::SETTINGS;
use thiserror::Error;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Notice {
    #[error("{place}: {}", skipped(*count))]
    BlankRows {
        /// The first of them.
        place: Location,
        count: usize,
    },
    #[error("{place}: column '{column}' is not read")]
    UnreadColumn {
        /// The header.
        place: Location,
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
        found: String,
        meant: String,
    },
    /// A reading or trial of the sheet that was struck from the book, and is not added again.
    #[error("{place}: {what} was struck from the book and is not added again; {way}")]
    Struck {
        place: Location,
        what: String,
        /// How to bring it back.
        way: String,
    },
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
    #[error(
        "{place}: an earlier command did not finish; everything it was adding is used, as the files \
        are now"
    )]
    Finished { place: Location },
    #[error(
        "{place}: everything is saved, but the clean-up afterwards failed ({why}); let swellbook write \
        once more before you edit the files"
    )]
    Untidy { place: Location, why: String },
    #[error(
        "{place}: an earlier command did not finish, and a file it was adding to was edited since; {}, \
        and everything it was adding is saved in {aside}",
        staying(stays)
    )]
    TakenBack {
        place: Location,
        /// The file that keeps what it was adding.
        aside: &'static str,
        /// The files that were saved with the rows it added to them.
        stays: Vec<&'static str>,
    },
    #[error(
        "{place}: the last line was cut off and is not used; complete it, with its line end, or the \
        next command that writes moves it to {aside}"
    )]
    CutOff {
        place: Location,
        /// The file it will be moved to by the next write.
        aside: String,
    },
    #[error(
        "{place}: the last line was cut off and was moved to {aside}; the original file is saved as \
        {backup}"
    )]
    SetAside { place: Location, aside: String, backup: String },
    #[error(
        "{place}: this file holds what was cut off or not finished; record again what is missing, then \
        remove this file"
    )]
    Aside { place: Location },
    #[error(
        "{place}: this looks like a copy of {of}, as programs make that synchronise folders; it is not \
        read; compare it with {of}, add what is missing there, then remove this file"
    )]
    Copy { place: Location, of: &'static str },
    #[error(
        "{place}: missing or incomplete, so edits of {} by other programs cannot be noticed; once the \
        files are right, swellbook notes what they hold with `swellbook audit --accept`",
        files.join(", ")
    )]
    Unwatched { place: Location, files: Vec<&'static str> },
    #[error(
        "{place}: this file was changed outside swellbook while a command added to it; both changes are \
        in it; check that it is as you want it"
    )]
    Saved { place: Location },
    /// The settings are shorter than they were, so a part may be missing.
    #[error(
        "{place}: shorter than it was ({then} → {now} lines), so settings may be missing, such as the \
        unit; restore it from a copy, or accept it with `swellbook audit --accept`"
    )]
    Shorter { place: Location, then: u64, now: u64 },
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
    #[error(
        "{place}: changed outside swellbook since its last write: {}{}",
        lines_since(*then, *now),
        where_lost(self.has_lost_lines())
    )]
    Edited { place: Location, then: u64, now: u64 },
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
