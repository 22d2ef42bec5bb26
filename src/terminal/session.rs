//! What a command may touch besides the book: the streams, the date and the terminal.

use super::refusal::CliError;
use super::screen::{Screen, Signs};
use super::today::today_here;
use super::values::iso_day;
use crate::book::{Book, BookError, Entries, Notice, Telling, copies, find};
use crate::trade::SendNumber;
pub use crate::units::quoted;
use crate::units::shown;
use jiff::civil::Date;
use std::ffi::OsString;
use std::io::{BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

pub struct Streams<'a> {
    /// Input from a person or another program.
    pub input: &'a mut dyn BufRead,
    /// Results.
    pub out: &'a mut dyn Write,
    /// Messages and prompts.
    pub err: &'a mut dyn Write,
}

impl Streams<'_> {
    /// The same streams, for a while.
    pub(crate) fn lent(&mut self) -> Streams<'_> {
        Streams { input: &mut *self.input, out: &mut *self.out, err: &mut *self.err }
    }
}

/// What surrounds the program: folder, variables and terminal.
#[derive(Clone, Debug)]
pub struct Surroundings {
    pub folder: PathBuf,
    /// The variable `SWELLBOOK`.
    pub book: Option<PathBuf>,
    /// The variable `SWELLBOOK_TODAY`, which replaces the clock: `YYYY-MM-DD`.
    pub today: Option<String>,
    /// Whether a person can be asked: standard input and standard error are terminals.
    pub terminal: bool,
    /// Whether standard error is a terminal, which has a bell.
    pub bell: bool,
    /// Columns that output may take.
    pub width: usize,
    /// Whether the locale has characters beyond ASCII.
    pub unicode: bool,
}

/// Columns if the output is not a terminal.
const DEFAULT_WIDTH: usize = 80;

impl Surroundings {
    pub fn of_process() -> Self {
        let variable = |name| std::env::var_os(name).filter(|value| !value.is_empty());
        let size = terminal_size::terminal_size_of(std::io::stdout());
        let bell = std::io::stderr().is_terminal();
        Self {
            folder: std::env::current_dir().unwrap_or_else(|_| PathBuf::from(".")),
            book: variable("SWELLBOOK").map(PathBuf::from),
            today: variable("SWELLBOOK_TODAY").map(|text| text.to_string_lossy().into_owned()),
            terminal: std::io::stdin().is_terminal() && bell,
            bell,
            width: size.map_or(DEFAULT_WIDTH, |(width, _)| usize::from(width.0)).max(20),
            unicode: cfg!(windows) || names_unicode(variable),
        }
    }
}

/// Whether the variable that decides the characters of a terminal names UTF-8: the first of these
/// that is set (POSIX.1-2017, base definitions, 8.2).
fn names_unicode(variable: impl Fn(&'static str) -> Option<OsString>) -> bool {
    let deciding = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(variable);
    deciding.is_some_and(|locale| {
        let locale = locale.to_string_lossy().to_ascii_lowercase();
        locale.contains("utf-8") || locale.contains("utf8")
    })
}

/// One run of one command.
pub struct Session<'a> {
    pub(crate) streams: Streams<'a>,
    pub(crate) surroundings: Surroundings,
    book: Option<PathBuf>,
    can_ask: bool,
    today: Date,
    /// How the book was changed, and the command that undoes it.
    pub(crate) kept: Option<String>,
    /// The notices printed so far.
    told: Vec<Notice>,
    /// What Ctrl-C says at a question, if more than the answers would be lost.
    pub(crate) at_stake: Option<String>,
    /// The number of the form that runs this command, for a page that writes. The form is written
    /// once; sent again, it gives [`CliError::SentBefore`] or [`CliError::SentOtherwise`]. `None`
    /// at a terminal.
    pub sending: Option<SendNumber>,
}

impl<'a> Session<'a> {
    /// A session with the folder of `--book`, and whether `--no-input` forbids prompts.
    pub fn new(
        streams: Streams<'a>,
        surroundings: Surroundings,
        book: Option<PathBuf>,
        no_input: bool,
    ) -> Result<Self, CliError> {
        let today = match &surroundings.today {
            Some(text) => iso_day(text).ok_or_else(|| {
                let found = shown(text);
                CliError::Usage(format!("SWELLBOOK_TODAY: '{found}' is not a day as YYYY-MM-DD"))
            })?,
            None => today_here(),
        };
        let can_ask = surroundings.terminal && !no_input;
        let (kept, told, at_stake, sending) = (None, Vec::new(), None, None);
        Ok(Self { streams, surroundings, book, can_ask, today, kept, told, at_stake, sending })
    }

    /// The streams and surroundings, for a command within a command.
    pub(crate) fn lent(&mut self) -> (Streams<'_>, Surroundings) {
        (self.streams.lent(), self.surroundings.clone())
    }

    pub fn today(&self) -> Date {
        self.today
    }

    pub fn width(&self) -> usize {
        self.surroundings.width
    }

    /// The screen that output is laid out for. The stream strips colours where they are unwanted.
    pub fn screen(&self) -> Screen {
        let signs = if self.surroundings.unicode { Signs::Bars } else { Signs::Plain };
        Screen::new(self.width(), signs).coloured()
    }

    pub fn can_ask(&self) -> bool {
        self.can_ask
    }

    /// Whether a person sees standard error.
    pub(crate) fn is_watched(&self) -> bool {
        self.surroundings.bell
    }

    pub fn folder(&self) -> &Path {
        &self.surroundings.folder
    }

    pub fn book_dir(&self) -> Result<PathBuf, CliError> {
        let variable = self.surroundings.book.as_deref();
        Ok(find(self.book.as_deref(), variable, &self.surroundings.folder)?)
    }

    /// Opens the book and prints its notices. Copies of its files are mentioned in one line. A form
    /// that was written before gives [`CliError::SentBefore`].
    pub fn open_book(&mut self) -> Result<Book, CliError> {
        let mut book = Book::open(&self.book_dir()?)?;
        self.refuse_sent(&mut book)?;
        self.tell_notices(&book, Telling::Opened);
        self.tell_copies(&book);
        Ok(book)
    }

    /// Mentions, once, that other programs left copies of files in the folder.
    fn tell_copies(&mut self, book: &Book) {
        let found = copies(book.dir());
        let Some(copy @ Notice::Copy { place, of }) = found.first() else { return };
        if !self.told.contains(copy) {
            let audit = self.command("audit");
            self.tell(&format!(
                "note: {place}: this looks like a copy of {of} and is not read; what to do: {audit}"
            ));
            self.told.push(copy.clone());
        }
    }

    /// As [`Self::open_book`], for a command that can do without a book; `None` if none was named
    /// and none is found.
    pub(crate) fn book_here(&mut self) -> Result<Option<Book>, CliError> {
        let is_named = self.book.is_some() || self.surroundings.book.is_some();
        match self.open_book() {
            Err(CliError::Book(BookError::NotFound { .. })) if !is_named => Ok(None),
            opened => opened.map(Some),
        }
    }

    /// Adds to the book, and prints the notices about the files written.
    pub fn append(&mut self, book: &mut Book, entries: Entries) -> Result<(), CliError> {
        if entries.is_empty() {
            return Ok(());
        }
        match self.sending {
            Some(_) => drop(self.write(book, |_| Ok(entries))?),
            // Without a number, a large book need not be read again.
            None => drop(book.append(self.noted(entries))?),
        }
        self.has_kept(book);
        Ok(())
    }

    /// Adds what `make` returns for the locked, current book, and returns it.
    pub(crate) fn append_with(
        &mut self,
        book: &mut Book,
        make: impl FnOnce(&Book) -> Result<Entries, BookError>,
    ) -> Result<Entries, CliError> {
        let entries = self.write(book, make)?;
        if !entries.is_empty() {
            self.has_kept(book);
        }
        Ok(entries)
    }

    /// Notes that the entries are saved: from here on, no error may suggest repeating the command.
    fn has_kept(&mut self, book: &Book) {
        self.keeps("what it was to add is there");
        // An earlier command may have ended in another way than it seemed when the book was opened.
        self.tell_notices(book, Telling::Opened);
        self.tell_notices(book, Telling::Written);
    }

    /// Prints the notices of this kind, each once.
    pub(crate) fn tell_notices(&mut self, book: &Book, telling: Telling) {
        for notice in book.notices().iter().filter(|notice| notice.telling() == telling) {
            if !self.told.contains(notice) {
                self.tell(&format!("note: {notice}"));
                self.told.push(notice.clone());
            }
        }
    }

    /// A command line to type next, on the same book.
    pub fn command(&self, rest: &str) -> String {
        match self.book_option() {
            Some(option) => format!("swellbook {option} {rest}"),
            None => format!("swellbook {rest}"),
        }
    }

    pub(crate) fn book_option(&self) -> Option<String> {
        self.book.as_deref().map(book_option)
    }
}

/// The option that names the book in `dir`. With a space, a `dir` with a leading `-` would be an
/// option.
pub(crate) fn book_option(dir: &Path) -> String {
    let dir = dir.to_string_lossy();
    let joint = if dir.starts_with('-') { '=' } else { ' ' };
    format!("--book{joint}{}", quoted(&dir))
}

#[cfg(test)]
mod tests {
    use super::names_unicode;

    #[test]
    fn the_first_variable_that_is_set_decides_on_the_characters() {
        let names = |set: &[(&str, &str)]| {
            let set = |name| set.iter().find(|one| one.0 == name).map(|one| one.1.into());
            names_unicode(set)
        };
        assert!(names(&[("LANG", "de_DE.UTF-8")]) && names(&[("LC_CTYPE", "C.utf8")]));
        assert!(!names(&[("LC_ALL", "C"), ("LANG", "de_DE.UTF-8")]));
        assert!(names(&[("LC_ALL", "C.UTF-8"), ("LC_CTYPE", "POSIX")]));
        assert!(!names(&[]) && !names(&[("LANG", "en_GB.ISO-8859-1")]));
    }
}
