//! Restores a book from its backup, for `restore --from`.

use super::answer::holds;
use super::text::restored_text;
use crate::book::{BookError, Telling, read_backup, restore};
use crate::terminal::input::STANDARD_INPUT;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, book_option};
use crate::units::shown_path;
use std::fs::File;
use std::path::Path;

pub(crate) fn restored(from: &Path, dir: &Path, session: &mut Session<'_>) -> Outcome {
    let backup = bytes_of(from, session)?;
    let book = restore(&backup, from, &session.folder().join(dir))?;
    let title = &book.config().title;
    session.says_kept(&restored_text(title, &shown_path(dir), &holds(&book)))?;
    session.tell_notices(&book, Telling::Opened);
    session.tell(&format!("next: swellbook {} audit", book_option(dir)));
    Ok(())
}

fn bytes_of(from: &Path, session: &mut Session<'_>) -> Result<Vec<u8>, CliError> {
    if from == Path::new("-") {
        return Ok(read_backup(&mut session.streams.input, Path::new(STANDARD_INPUT))?);
    }
    let failed = |source| BookError::Io { path: from.to_owned(), doing: "reading", source };
    let file = File::open(session.folder().join(from)).map_err(failed)?;
    Ok(read_backup(file, from)?)
}
