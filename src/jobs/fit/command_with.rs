//! `fit --with`: opens other books beside this one. They are read and never written.

use super::answer_books::{Other, TogetherError};
use crate::book::{Book, BookError, Fault, Location, Telling, find};
use crate::jobs::fitted::BenchError;
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::units::shown_path;
use std::path::{Path, PathBuf};

pub(super) fn open_others(
    book: &Book,
    dirs: Vec<PathBuf>,
    session: &mut Session<'_>,
) -> Result<Vec<Other>, CliError> {
    let mut places = vec![(place(book.dir()), "this book".to_owned())];
    let mut others = Vec::with_capacity(dirs.len());
    for named in dirs {
        let dir = folder(&named, session)?;
        let (place, shown) = (place(&dir), shown_path(&named));
        if let Some((_, known)) = places.iter().find(|known| known.0 == place) {
            return Err(CliError::Usage(format!(
                "--with {shown}: the same folder as {known}; name each book once"
            )));
        }
        places.push((place, format!("--with {shown}")));
        let other = Book::open(&dir).map_err(|error| of_folder(&named, error))?;
        for notice in other.notices().iter().filter(|it| it.telling() == Telling::Opened) {
            session.tell(&format!("note: {shown}: {notice}"));
        }
        others.push((named, other));
    }
    Ok(others)
}

fn folder(named: &Path, session: &Session<'_>) -> Result<PathBuf, CliError> {
    let dir = session.folder().join(named);
    find(Some(&dir), None, session.folder()).map_err(|error| {
        let shown = shown_path(named);
        let message = format!("--with {shown}: no book.toml in it; name the folder of a book");
        CliError::Job { message, status: CliError::Book(error).status() }
    })
}

/// The canonical path of a folder, which is the same however the folder was named.
fn place(dir: &Path) -> PathBuf {
    dir.canonicalize().unwrap_or_else(|_| dir.to_owned())
}

/// The error of another book, with its folder in front of each file.
fn of_folder(named: &Path, error: BookError) -> CliError {
    let BookError::Faults { faults } = error else { return error.into() };
    let inside = |fault: Fault| {
        let file = shown_path(&named.join(&fault.place.file));
        Fault { place: Location { file, ..fault.place }, ..fault }
    };
    BookError::Faults { faults: faults.into_iter().map(inside).collect() }.into()
}

impl From<TogetherError> for CliError {
    fn from(error: TogetherError) -> Self {
        match error {
            TogetherError::Empty { .. } => Self::NotEnough(error.to_string()),
            TogetherError::Model(why) => BenchError::Model(why).into(),
            TogetherError::Shared { .. } | TogetherError::Book { .. } => {
                Self::Job { message: error.to_string(), status: ExitStatus::Data }
            }
        }
    }
}
