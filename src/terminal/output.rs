//! Files that a command writes outside the book: whole or not at all, and never over a file that
//! the program did not write.

use super::mark::{HEAD, is_marked};
use super::part::Part;
use super::refusal::CliError;
use super::session::Session;
use crate::book::book_file_at;
use crate::units::shown_path;
use std::fs::{File, OpenOptions};
use std::io;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// The most symbolic links to follow; systems have limits like this one.
const MOST_LINKS: usize = 40;

/// Where a command writes its result.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Output<'a> {
    /// The file as it was typed; `-` is standard output.
    pub path: &'a Path,
    /// The extensions of its kind of file, in lower case.
    pub endings: &'static [&'static str],
    /// Whether a file that the program did not write may be replaced.
    pub replace: bool,
}

/// Blames `flag` instead of `--out`, for a command that names its file in another way.
pub(crate) fn blaming(flag: &'static str) -> impl Fn(CliError) -> CliError {
    move |error| error.at("--out", flag)
}

/// What the path leads to.
enum Place {
    Standard,
    /// An existing device or pipe. It is written to and never replaced.
    Stream(PathBuf),
    /// A file that may not exist yet, with links resolved: a link stays and its target is replaced.
    File(PathBuf),
}

impl Output<'_> {
    /// Refuses a place that must not be written to, before any work is done.
    ///
    /// # Errors
    /// [`CliError::Value`] for a file of a book, another ending, or a file that the program did not
    /// write; [`CliError::File`] for a folder, or if the folder for the file does not exist.
    pub fn check(&self, session: &Session<'_>) -> Result<(), CliError> {
        self.place(session).map(|_| ())
    }

    /// Writes `bytes` and says what was done, except for standard output.
    pub fn write(
        &self,
        session: &mut Session<'_>,
        bytes: &[u8],
        done: &str,
    ) -> Result<(), CliError> {
        self.save(session, bytes)?;
        match self.path.as_os_str() == "-" {
            true => Ok(()),
            false => session.says_kept(&format!("{done}: {}", shown_path(self.path))),
        }
    }

    /// Writes `bytes` to a file beside the target first, and moves it there when it is whole.
    pub fn save(&self, session: &mut Session<'_>, bytes: &[u8]) -> Result<(), CliError> {
        match self.place(session)? {
            Place::Standard => session.put(bytes),
            Place::Stream(path) => OpenOptions::new()
                .write(true)
                .open(path)
                .and_then(|mut stream| stream.write_all(bytes))
                .map_err(|error| self.failed(&error)),
            Place::File(target) => {
                let mut part = Part::beside(&target).map_err(|error| self.failed(&error))?;
                part.fill(bytes, &target).map_err(|error| self.failed(&error))?;
                self.put(session, &part, &target)
            }
        }
    }

    /// Moves what was written to its place. If another program put a file there meanwhile, checks
    /// the place again.
    fn put(&self, session: &Session<'_>, part: &Part, target: &Path) -> Result<(), CliError> {
        if part.put(target).is_ok() {
            return Ok(());
        }
        match self.place(session)? {
            Place::File(now) if now == target => {
                part.put_over(target).map_err(|error| self.failed(&error))
            }
            _ => Err(self.failed(&"it leads to another place now")),
        }
    }

    fn place(&self, session: &Session<'_>) -> Result<Place, CliError> {
        if self.path.as_os_str() == "-" {
            return Ok(Place::Standard);
        }
        let path = session.folder().join(self.path);
        if path.metadata().is_ok_and(|there| !there.is_file() && !there.is_dir()) {
            return Ok(Place::Stream(path));
        }
        let target = resolved(&path, MOST_LINKS);
        let book = session.book_dir().ok();
        let of_book = target.as_ref().ok().and_then(|path| book_file_at(path, book.as_deref()));
        if let Some(file) = of_book {
            return Err(self.refused(&format!("{}; choose another file", self.belonging(&file))));
        }
        self.check_ending()?;
        let target = target.map_err(|error| match error.kind() {
            io::ErrorKind::NotFound => self.failed(&"its folder does not exist; make it first"),
            _ => self.failed(&error),
        })?;
        if target.is_dir() {
            return Err(self.failed(&"it is a folder"));
        }
        if !self.replace && !may_be_replaced(&target) {
            return Err(self.refused(&format!(
                "'{}' already exists, and swellbook may not have made it; choose another file, or \
                 replace it with --replace",
                shown_path(self.path)
            )));
        }
        Ok(Place::File(target))
    }

    /// Which file of a book the path leads to.
    fn belonging(&self, file: &Path) -> String {
        let (typed, name) = (shown_path(self.path), file.file_name().unwrap_or_default());
        if self.path.file_name() == Some(name) {
            return format!("'{typed}' belongs to a book");
        }
        format!("'{typed}' leads to {}, which belongs to a book", shown_path(Path::new(name)))
    }

    fn check_ending(&self) -> Result<(), CliError> {
        let ending = self.path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        if ending.is_some_and(|ending| self.endings.contains(&ending.as_str())) {
            return Ok(());
        }
        let typed = shown_path(self.path);
        let wanted = self.endings.join(" or .");
        Err(self.refused(&format!("the name '{typed}' does not end in .{wanted}")))
    }

    fn refused(&self, why: &str) -> CliError {
        CliError::value("--out", why)
    }

    fn failed(&self, error: &dyn std::fmt::Display) -> CliError {
        let message = format!("cannot be written: {error}");
        CliError::File { path: self.path.to_owned(), message }
    }
}

/// The path without links and without `..`, whether it exists or not.
fn resolved(path: &Path, links: usize) -> io::Result<PathBuf> {
    if path.try_exists()? {
        return path.canonicalize();
    }
    let name = path.file_name().ok_or(io::ErrorKind::NotFound)?;
    let folder = path.parent().unwrap_or(Path::new(".")).canonicalize()?;
    match path.read_link() {
        Ok(link) if links > 0 => resolved(&folder.join(link), links - 1),
        Ok(_) => Err(io::ErrorKind::InvalidInput.into()),
        Err(_) => Ok(folder.join(name)),
    }
}

/// Whether replacing the target loses nothing: it does not exist, is empty, or was written by the
/// program.
fn may_be_replaced(target: &Path) -> bool {
    let mut head = Vec::new();
    match File::open(target).and_then(|file| file.take(HEAD as u64).read_to_end(&mut head)) {
        Ok(_) => head.is_empty() || is_marked(&head),
        Err(error) => error.kind() == io::ErrorKind::NotFound,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terminal::session::{Streams, Surroundings};

    #[test]
    fn a_file_that_comes_while_another_is_written_is_judged_too() {
        let dir = tempfile::tempdir().unwrap();
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
        let here = Surroundings { folder: dir.path().to_owned(), ..Surroundings::of_process() };
        let session = Session::new(streams, here, None, false).unwrap();
        let target = dir.path().canonicalize().unwrap().join("page.html");
        let mark = "<meta name=\"generator\" content=\"swellbook\">";
        let own = format!("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n{mark}\n");
        for (theirs, replace, replaced) in
            [("theirs", false, false), ("theirs", true, true), (own.as_str(), false, true)]
        {
            let _ = std::fs::remove_file(&target);
            let output = Output { path: Path::new("page.html"), endings: &["html"], replace };
            assert!(matches!(output.place(&session), Ok(Place::File(place)) if place == target));
            let mut part = Part::beside(&target).unwrap();
            part.fill(b"ours", &target).unwrap();
            std::fs::write(&target, theirs).unwrap();
            let put = output.put(&session, &part, &target).map_err(|error| error.to_string());
            let wanted = if replaced { "ours" } else { theirs };
            assert_eq!(std::fs::read_to_string(&target).unwrap(), wanted, "{put:?}");
            assert_eq!(put.is_ok(), replaced);
            assert!(put.err().is_none_or(|said| said.contains("may not have made it")));
        }
    }
}
