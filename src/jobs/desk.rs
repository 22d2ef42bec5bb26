//! The book as the pages see it: reloaded when one of its files changes, fitted once per state, and
//! changed only through commands.

use super::memory::{Kept, Memory, held};
use crate::book::Book;
use crate::page::form::{Form, NUMBER};
use crate::page::form_page::Seal;
use crate::page::handle;
use crate::page::key::number;
use crate::page::mark::Mark;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::sending::{sent_before, sent_error};
use crate::terminal::session::{Session, Streams, Surroundings, book_option};
use crate::trade::SendNumber;
use clap::Args;
use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// How many recent forms keep their full output and their "before" state in memory.
const REMEMBERED: usize = 16;

type Run<A> = fn(A, &mut Session<'_>) -> Outcome;
/// Renders a form again with what was typed and its faults.
type Again = fn(&Desk, &Form, &[Fault]) -> Result<Content, Turned>;

pub(crate) type Day = jiff::civil::Date;

/// The state that all pages share.
pub(crate) struct Desk {
    surroundings: Surroundings,
    read_only: bool,
    /// Secret that every form must send back.
    pub token: String,
    memory: Memory,
    spoken: Mutex<VecDeque<(String, Spoken)>>,
}

struct Spoken {
    said: String,
    /// The book and its fit before the change, if they were in memory.
    before: Option<Kept>,
}

impl Desk {
    pub fn new(dir: PathBuf, read_only: bool, surroundings: Surroundings, token: String) -> Self {
        let surroundings = Surroundings {
            folder: dir.clone(),
            terminal: false,
            bell: false,
            unicode: true,
            // The browser wraps lines itself.
            width: usize::from(u16::MAX),
            ..surroundings
        };
        let (memory, spoken) = (Memory::of(dir), Mutex::default());
        Self { surroundings, read_only, token, memory, spoken }
    }

    pub fn is_read_only(&self) -> bool {
        self.read_only
    }

    pub fn book_option(&self) -> String {
        book_option(&self.memory.dir)
    }

    pub fn book(&self) -> Result<Arc<Book>, Turned> {
        self.memory.book()
    }

    /// The current book with its fit.
    pub fn kept(&self) -> Result<Kept, Turned> {
        self.memory.kept()
    }

    /// Computes something slow from the book and its fit once, and caches it until the book
    /// changes. `words` is both the cache key and the message shown while it runs.
    pub fn of_kept<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        make: fn(&Kept) -> Result<T, CliError>,
    ) -> Result<Arc<T>, Turned> {
        let kept = self.kept()?;
        let book = Arc::clone(&kept.book);
        self.memory.worked_out(words, &book, move |_| make(&kept))
    }

    /// Like [`Desk::of_kept`], for results that also depend on the date: the day on which the work
    /// starts.
    pub fn of_today<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        make: fn(&Kept, Day) -> Result<T, CliError>,
    ) -> Result<Arc<T>, Turned> {
        let (kept, today) = (self.kept()?, self.today()?);
        let book = Arc::clone(&kept.book);
        self.memory.worked_out(words, &book, move |_| make(&kept, today))
    }

    /// The form's number, if the book already holds this form's change.
    ///
    /// # Errors
    /// [`CliError::SentOtherwise`] if it was sent with other values; those of [`Desk::book`].
    pub fn was_done(&self, form: &Form) -> Result<Option<String>, Turned> {
        let Some(typed) = form.get(NUMBER) else { return Ok(None) };
        let Ok(number) = typed.parse::<SendNumber>() else { return Ok(None) };
        let (number, book) = (number.holding(form.digest()), self.book()?);
        match sent_before(&book, number).map(|change| sent_error(change, number)) {
            None => Ok(None),
            Some(CliError::SentBefore { .. }) => Ok(Some(typed.to_owned())),
            Some(error) => Err(error.into()),
        }
    }

    /// Runs a command with the form's `fields`, which are named like its options. Returns the
    /// form's number, even if the form was sent before.
    pub fn order<A: Args>(
        &self,
        form: &Form,
        fields: &[&str],
        run: Run<A>,
    ) -> Result<String, Turned> {
        let args = form.args(fields)?;
        self.write(form, |session| run(args, session))
    }

    /// Changes the book. The form's number makes sure that a form sent twice changes it once.
    pub fn write(
        &self,
        form: &Form,
        change: impl FnOnce(&mut Session<'_>) -> Result<(), CliError>,
    ) -> Result<String, Turned> {
        if self.read_only {
            return Err(whole("This page only shows the book."));
        }
        let typed = form.get(NUMBER).unwrap_or_default();
        let number: SendNumber =
            typed.parse().map_err(|_| whole("This form has no number; open its page again."))?;
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
        let mut session = self.session(streams)?;
        session.sending = Some(number.holding(form.digest()));
        let before = self.memory.known();
        let done = change(&mut session);
        match session.settled(done) {
            Ok(()) => {
                let said = [out, err].concat();
                let said = String::from_utf8_lossy(&said).trim().to_owned();
                self.remember(typed, Spoken { said, before });
                Ok(typed.to_owned())
            }
            Err(CliError::SentBefore { .. }) => Ok(typed.to_owned()),
            Err(error) => Err(error.into()),
        }
    }

    /// Takes the result of [`Desk::order`] and redirects to the page at `then`, which reports it. If
    /// the form has faults, shows it again with them.
    pub fn settled(
        &self,
        form: &Form,
        done: Result<String, Turned>,
        then: &str,
        again: Again,
    ) -> Result<Answer, Turned> {
        match done {
            Ok(number) => Ok(Answer::said(then, &number)),
            Err(turned) => Ok(again(self, form, &turned.faults()?)?.into()),
        }
    }

    fn session<'s>(&self, streams: Streams<'s>) -> Result<Session<'s>, CliError> {
        Session::new(streams, self.surroundings.clone(), Some(self.memory.dir.clone()), true)
    }

    pub fn today(&self) -> Result<Day, CliError> {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
        Ok(self.session(streams)?.today())
    }

    fn remember(&self, number: &str, done: Spoken) {
        let mut spoken = held(&self.spoken);
        spoken.truncate(REMEMBERED - 1);
        spoken.push_front((number.to_owned(), done));
    }

    /// Whether the form that led to this page changed the book, and that change still counts.
    pub fn counts(&self, form: &Form) -> bool {
        form.get("said").and_then(|number| self.change(number)).is_some_and(|(_, counts)| counts)
    }

    /// What the form with this number wrote, and whether that was not undone since.
    fn change(&self, number: &str) -> Option<(String, bool)> {
        let (number, book) = (number.parse().ok()?, self.book().ok()?);
        let change = sent_before(&book, number)?;
        let place = book.changes().iter().position(|it| std::ptr::eq(it, change))?;
        let is_plain = change.turn.is_none() && change.can_be_undone();
        let counts = !is_plain || book.history().written.contains(&place);
        Some((change.said.clone(), counts))
    }

    /// The book and its fit before the form with this number changed it.
    pub fn before(&self, number: &str) -> Option<Kept> {
        held(&self.spoken).iter().find(|it| it.0 == number)?.1.before.clone()
    }

    pub fn seal(&self) -> Seal {
        // If no number can be made, the form is refused with the advice to open its page again.
        let number = number().unwrap_or_default();
        Seal { token: self.token.clone(), number, view_only: self.read_only }
    }
}

impl handle::Desk for Desk {
    fn title(&self) -> String {
        self.memory.title().unwrap_or_else(|| "Swellbook".to_owned())
    }

    fn said(&self, number: &str) -> Option<String> {
        let (said, counts) = self.change(number)?;
        if !counts {
            return Some(format!("This was undone: {said}"));
        }
        let spoken = held(&self.spoken);
        let spoken = spoken.iter().find(|it| it.0 == number).map(|it| it.1.said.clone());
        Some(spoken.unwrap_or(said))
    }

    fn mark(&self) -> Mark {
        let book = self.book().ok();
        let first = book.as_ref().and_then(|book| book.changes().first());
        let first = first.map(|it| format!("{} {} {:?}", it.date, it.said, it.number));
        Mark::of(&self.memory.dir, first.as_deref())
    }
}

/// A fault of the whole form, not of one field.
fn whole(message: &str) -> Turned {
    Turned::Faults(vec![Fault::new("", message)])
}
