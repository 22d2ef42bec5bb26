use super::exit::ExitStatus;
use crate::book::BookError;
use crate::units::shown_path;
use std::borrow::Borrow;
use std::path::PathBuf;
use thiserror::Error;

#[derive(Debug, Error)]
pub enum CliError {
    /// Flags that exclude each other, or a setting that is not understood.
    #[error("{0}")]
    Usage(String),
    /// Values that were not given and could not be asked for.
    #[error("{}, or run it at a terminal to be asked", missing_text(flags))]
    Missing { flags: Vec<&'static str> },
    #[error("{}{message}", before(flag))]
    Value {
        flag: &'static str,
        /// What was found, what was expected and what to do.
        message: String,
    },
    /// Something wrong with the book, or a clash with what it holds.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The book holds too little data for the question.
    #[error("{0}")]
    NotEnough(String),
    /// A file that could not be read or written.
    #[error("{}: {message}", shown_path(path))]
    File { path: PathBuf, message: String },
    /// A job without an answer, with the text of its own error.
    #[error("{message}")]
    Job { message: String, status: ExitStatus },
    /// The input ended while something was being asked.
    #[error("the input ended before {question} was answered; nothing was written")]
    Ended { question: String },
    /// The person at the terminal stopped.
    #[error("stopped; nothing was saved")]
    Left,
    /// The person at the terminal declined to record it.
    #[error("not recorded, because the answer was no")]
    Declined,
    /// A form of a page that was written before, under the same number. It never occurs at a
    /// terminal.
    #[error("already written when it was first sent: {said}")]
    SentBefore { said: String },
    /// The same with other values. Those from then are in the book, and these are not.
    #[error(
        "this form was already sent with other values ({said}); open its page again to write more"
    )]
    SentOtherwise { said: String },
    /// Reading standard input failed.
    #[error("standard input cannot be read: {0}")]
    Input(std::io::Error),
    /// Writing standard output failed.
    #[error("the result cannot be written: {0}")]
    Output(std::io::Error),
    /// The same, after the book was changed. The change stays.
    #[error(
        "the result cannot be written: {why}\ndone and saved, so do not repeat the command: {kept}"
    )]
    Kept {
        /// What was changed, and the command that undoes it.
        kept: String,
        why: std::io::Error,
    },
}

/// The flag in front of a message. That an entry is meant by its kind, name or id is plain from the
/// message.
fn before(flag: &str) -> String {
    match flag {
        "KIND" | "NAME" | "ID" => String::new(),
        flag => format!("{flag}: "),
    }
}

pub(crate) fn missing_text(flags: &[impl Borrow<str>]) -> String {
    let them = match flags {
        [one] if one.borrow().contains(" or ") => "one of them",
        [_] => "it",
        _ => "them",
    };
    format!("missing {}; give {them}", flags.join(", "))
}

impl CliError {
    /// An impossible value that came with this flag.
    pub(crate) fn value(flag: &'static str, message: impl Into<String>) -> Self {
        Self::Value { flag, message: message.into() }
    }

    /// The error, about `other` if it is about `flag`.
    pub(crate) fn at(self, flag: &str, other: &'static str) -> Self {
        match self {
            Self::Value { flag: of, message } if of == flag => Self::value(other, message),
            error => error,
        }
    }

    pub fn status(&self) -> ExitStatus {
        match self {
            Self::Usage(_) | Self::Missing { .. } | Self::SentOtherwise { .. } => ExitStatus::Usage,
            Self::Value { .. } => ExitStatus::Data,
            Self::Book(error) => book_status(error),
            Self::Job { status, .. } => *status,
            Self::NotEnough(_) => ExitStatus::NotEnough,
            Self::File { .. }
            | Self::Ended { .. }
            | Self::Left
            | Self::Declined
            | Self::Input(_)
            | Self::Output(_) => ExitStatus::Failed,
            Self::SentBefore { .. } => ExitStatus::Done,
            Self::Kept { .. } => ExitStatus::Kept,
        }
    }

    /// Whether the reader of the results closed the pipe, which is not a failure.
    pub(crate) fn is_closed_pipe(&self) -> bool {
        matches!(
            self,
            Self::Output(why) | Self::Kept { why, .. } if why.kind() == std::io::ErrorKind::BrokenPipe
        )
    }
}

fn book_status(error: &BookError) -> ExitStatus {
    match error {
        BookError::NotFound { .. }
        | BookError::Exists { .. }
        | BookError::Taken { .. }
        | BookError::Io { .. }
        | BookError::Unkept { .. }
        | BookError::Undecided { .. } => ExitStatus::Failed,
        BookError::Faults { .. } | BookError::Clash(_) => ExitStatus::Data,
        BookError::InUse { .. } | BookError::Open { .. } => ExitStatus::InUse,
        BookError::Damaged { .. } => ExitStatus::Damaged,
    }
}

/// How a command ended, or why it failed.
pub type Outcome = Result<(), CliError>;
