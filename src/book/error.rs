use super::location::Location;
use super::notice::Notice;
use crate::units::shown_path;
use std::fmt;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// A single fault at one place of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    pub place: Location,
    /// What was found, what was expected and what to do: lower case, no full stop.
    pub message: String,
}

impl Fault {
    pub(crate) fn new(place: Location, message: impl fmt::Display) -> Self {
        Self { place, message: message.to_string() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.message)
    }
}

#[derive(Debug, Error)]
pub enum BookError {
    #[error(
        "no book found: {looked}; make one with `swellbook init DIR`, or name one with --book DIR"
    )]
    NotFound { looked: String },
    #[error("{} already holds a book; choose another folder", shown_path(dir))]
    Exists { dir: PathBuf },
    #[error(
        "{} already exists, and a new book needs that name; choose another folder, or move the \
         file away",
        shown_path(path)
    )]
    Taken { path: PathBuf },
    #[error("{}", faults.iter().map(Fault::to_string).collect::<Vec<_>>().join("\n"))]
    Faults {
        /// All faults, in order of file and row. A file with very many has the first two hundred,
        /// and one more that counts the others.
        faults: Vec<Fault>,
    },
    /// An entry that clashes with the book.
    #[error("{0}")]
    Clash(String),
    /// The folder does not hold a readable book: made by a newer program, files missing or torn.
    #[error("{}: {message}", shown_path(path))]
    Damaged { path: PathBuf, message: String },
    #[error(
        "{} is in use by another program ({holder}); try again when it is done",
        shown_path(dir)
    )]
    InUse { dir: PathBuf, holder: String },
    #[error(
        "{} is open in a spreadsheet ({holder}); save and close it there, then try again (if \
         nobody has it open, remove {})",
        shown_path(path),
        shown_path(mark)
    )]
    Open {
        path: PathBuf,
        /// The lock file of the spreadsheet.
        mark: PathBuf,
        holder: String,
    },
    #[error("{}", refused_text(path, doing, source))]
    Io {
        path: PathBuf,
        /// What was being done.
        doing: &'static str,
        source: std::io::Error,
    },
    /// A system call failed during a write; the book is unchanged.
    #[error("{}: {doing}: {source}; nothing was saved{}", shown_path(path), way_out(source))]
    Unkept { path: PathBuf, doing: &'static str, source: std::io::Error },
    /// A system call failed, and it is not known whether the change was kept. All of it was, or
    /// nothing.
    #[error(
        "{}: {doing}: {source}; it may have been saved, so check before you repeat the command: \
         swellbook audit{}",
        shown_path(path),
        way_out(source)
    )]
    Undecided { path: PathBuf, doing: &'static str, source: std::io::Error },
}

/// The message for a failed call, in our own words if a wrong name is the usual cause.
fn refused_text(path: &Path, doing: &str, source: &std::io::Error) -> String {
    use std::io::ErrorKind;
    let path = shown_path(path);
    match source.kind() {
        ErrorKind::NotFound if doing.starts_with("reading") => {
            format!("{path}: this file does not exist; check its name and folder")
        }
        ErrorKind::IsADirectory => format!("{path}: this is a folder; name a file in it"),
        ErrorKind::PermissionDenied if doing.starts_with("reading") => format!(
            "{path}: {doing}: {source}; check that you may read it, and the folder that it is in"
        ),
        _ => format!("{path}: {doing}: {source}{}", way_out(source)),
    }
}

/// What to do about a failed call, if that is known.
fn way_out(source: &std::io::Error) -> &'static str {
    use std::io::ErrorKind;
    match source.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "; free some space on the disk, then try again"
        }
        ErrorKind::ReadOnlyFilesystem => "; make the disk writable, or copy the book to another",
        ErrorKind::PermissionDenied => {
            "; check that you may write to the folder and its files, or copy the book elsewhere"
        }
        _ => "",
    }
}

impl BookError {
    /// The error of a command that was to change the book and did not.
    pub(crate) fn unkept(self) -> Self {
        match self {
            Self::Io { path, doing, source } => Self::Unkept { path, doing, source },
            other => other,
        }
    }

    /// The error of a command that may have changed the book.
    pub(crate) fn undecided(self) -> Self {
        match self {
            Self::Io { path, doing, source } => Self::Undecided { path, doing, source },
            other => other,
        }
    }

    /// Whether the command may have changed the book. After any other error it has not.
    pub fn is_undecided(&self) -> bool {
        matches!(self, Self::Undecided { .. })
    }

    /// The same error. Faults in the files are followed by what may explain them: a file lost lines
    /// since the program wrote to it, because another program brought back an older copy.
    pub(crate) fn with_lost_lines(self, notices: &[Notice]) -> Self {
        let Self::Faults { mut faults } = self else { return self };
        let lost = |notice: &Notice| match notice {
            Notice::Edited { place, then, now } if notice.has_lost_lines() => Some(Fault::new(
                place.clone(),
                format!(
                    "fewer lines than when swellbook last wrote to it ({then} → {now}); if another \
                     program brought back an older copy, bring back the newer one"
                ),
            )),
            _ => None,
        };
        faults.extend(notices.iter().filter_map(lost));
        Self::Faults { faults }
    }

    pub(crate) fn fault(place: Location, message: impl fmt::Display) -> Self {
        Self::Faults { faults: vec![Fault::new(place, message)] }
    }
}
