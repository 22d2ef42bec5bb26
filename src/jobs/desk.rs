//! The book as the page has it: read again when a file of it has changed, fitted once, and changed by
//! the commands and by nothing else.

use super::fitted::{Bench, Fitted};
use crate::book::{Book, Fingerprint};
use crate::page::form::{Form, NUMBER};
use crate::page::form_page::Seal;
use crate::page::handle;
use crate::page::key::number;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, Streams, Surroundings};
use crate::trade::SendNumber;
use clap::Args;
use std::any::Any;
use std::collections::{HashMap, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How long a page waits for what is being worked out before it says so.
const PATIENCE: Duration = Duration::from_millis(1500);
/// Lines about forms that are remembered with all that was said.
const REMEMBERED: usize = 16;
/// What the fit is known by.
const FIT: &str = "Working out what the trials say.";

/// What a command does with its arguments.
type Run<A> = fn(A, &mut Session<'_>) -> Outcome;
/// Shows a form again, filled and with its faults.
type Again = fn(&Desk, &Form, &[Fault]) -> Result<Content, Turned>;

/// A day, as the commands know it.
pub(crate) type Day = jiff::civil::Date;

/// What pages work on.
pub(crate) struct Desk {
    dir: PathBuf,
    surroundings: Surroundings,
    read_only: bool,
    /// What every form carries.
    pub token: String,
    memory: Arc<Memory>,
    spoken: Mutex<VecDeque<(String, Spoken)>>,
}

/// What a form has done.
struct Spoken {
    said: String,
    /// The book and its fit before, where they were known.
    before: Option<Kept>,
}

/// A book and what was worked out from it.
#[derive(Default)]
struct Memory {
    book: Mutex<Option<Remembered>>,
    done: Condvar,
}

struct Remembered {
    fingerprint: Fingerprint,
    book: Arc<Book>,
    works: HashMap<&'static str, Work>,
}

/// Something that takes its time, begun once for every state of the book.
enum Work {
    Begun,
    Done(Arc<dyn Any + Send + Sync>),
    Failed(String),
}

/// A book with its fit.
#[derive(Clone)]
pub(crate) struct Kept {
    pub book: Arc<Book>,
    pub bench: Arc<Bench>,
}

impl Kept {
    pub fn fitted(&self) -> Fitted<'_> {
        Fitted { book: &self.book, bench: &self.bench }
    }
}

impl Desk {
    pub fn new(
        (dir, read_only): (PathBuf, bool),
        surroundings: Surroundings,
        token: String,
    ) -> Self {
        let surroundings = Surroundings {
            folder: dir.clone(),
            terminal: false,
            bell: false,
            unicode: true,
            // A browser breaks the lines.
            width: usize::from(u16::MAX),
            ..surroundings
        };
        let (memory, spoken) = (Arc::default(), Mutex::default());
        Self { dir, surroundings, read_only, token, memory, spoken }
    }

    pub fn is_read_only(&self) -> bool {
        self.read_only
    }

    /// The book as it is now.
    ///
    /// # Errors
    /// As [`Book::open`].
    pub fn book(&self) -> Result<Arc<Book>, Turned> {
        let mut memory = held(&self.memory.book);
        let known = memory.as_ref().map(|known| known.fingerprint);
        if let Some((book, fingerprint)) = Book::open_changed(&self.dir, known)? {
            *memory = Some(Remembered { fingerprint, book: Arc::new(book), works: HashMap::new() });
        }
        let book = memory.as_ref().map(|known| Arc::clone(&known.book));
        book.ok_or_else(|| Turned::Missing("the book".to_owned()))
    }

    /// The book and its fit.
    ///
    /// # Errors
    /// [`Turned::Working`] while a large book is being fitted; those of the fit.
    pub fn kept(&self) -> Result<Kept, Turned> {
        let book = self.book()?;
        let fit = |book: &Arc<Book>| Ok(Bench::of(book)?);
        let bench = self.worked_out(FIT, &book, fit)?;
        Ok(Kept { book, bench })
    }

    /// Something of the book and its fit that takes its time: worked out once, and kept until the
    /// book changes. It is known by its words.
    ///
    /// # Errors
    /// [`Turned::Working`] while it is worked out; those of `make`.
    pub fn of_kept<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        make: fn(&Kept) -> Result<T, CliError>,
    ) -> Result<Arc<T>, Turned> {
        let kept = self.kept()?;
        let book = Arc::clone(&kept.book);
        self.worked_out(words, &book, move |_| make(&kept))
    }

    /// As [`Desk::of_kept`], for what depends on the day too: the day on which it is begun.
    ///
    /// # Errors
    /// As [`Desk::of_kept`].
    pub fn of_today<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        make: fn(&Kept, Day) -> Result<T, CliError>,
    ) -> Result<Arc<T>, Turned> {
        let (kept, today) = (self.kept()?, self.today()?);
        let book = Arc::clone(&kept.book);
        self.worked_out(words, &book, move |_| make(&kept, today))
    }

    fn worked_out<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        book: &Arc<Book>,
        make: impl FnOnce(&Arc<Book>) -> Result<T, CliError> + Send + 'static,
    ) -> Result<Arc<T>, Turned> {
        let is_same = |known: &&mut Remembered| Arc::ptr_eq(&known.book, book);
        let mut memory = held(&self.memory.book);
        // Meanwhile the book may have changed: then this is of no use to anybody else.
        let Some(known) = memory.as_mut().filter(is_same) else {
            return Err(Turned::Working(words));
        };
        if !known.works.contains_key(words) {
            known.works.insert(words, Work::Begun);
            let (memory, book) = (Arc::clone(&self.memory), Arc::clone(book));
            std::thread::spawn(move || memory.keep(words, &book, || make(&book)));
        }
        let is_begun = |memory: &mut Option<Remembered>| {
            let work = memory.as_ref().and_then(|known| known.works.get(words));
            matches!(work, Some(Work::Begun))
        };
        let waited = self.memory.done.wait_timeout_while(memory, PATIENCE, is_begun);
        let mut memory = waited.unwrap_or_else(PoisonError::into_inner).0;
        match memory.as_mut().filter(is_same).and_then(|known| known.works.get(words)) {
            Some(Work::Done(work)) => {
                Arc::clone(work).downcast().map_err(|_| Turned::Working(words))
            }
            Some(Work::Failed(why)) => Err(failed(why)),
            _ => Err(Turned::Working(words)),
        }
    }

    /// The number of the form where the book has done what it says already.
    ///
    /// # Errors
    /// As [`Desk::book`].
    pub fn was_done(&self, form: &Form) -> Result<Option<String>, Turned> {
        let Some(typed) = form.get(NUMBER) else { return Ok(None) };
        let Ok(number) = typed.parse() else { return Ok(None) };
        Ok(self.book()?.said_to(number).map(|_| typed.to_owned()))
    }

    /// A command, of the fields of a form that are called like its options; the number of the form
    /// when it is done, be it that it was sent before.
    ///
    /// # Errors
    /// [`Turned`].
    pub fn order<A: Args>(
        &self,
        form: &Form,
        fields: &[&str],
        run: Run<A>,
    ) -> Result<String, Turned> {
        let args = form.args(fields)?;
        self.write(form, |session| run(args, session).map(|_| ()))
    }

    /// Changes the book, as the form with its number does once.
    ///
    /// # Errors
    /// [`Turned`].
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
        session.sending = Some(number);
        let before = self.known();
        let done = change(&mut session);
        let done = session.settled(done.map(|()| ExitStatus::Done));
        match done {
            Ok(_) => {
                let said = [out, err].concat();
                let said = String::from_utf8_lossy(&said).trim().to_owned();
                self.remember(typed, Spoken { said, before });
                Ok(typed.to_owned())
            }
            Err(CliError::SentBefore { .. }) => Ok(typed.to_owned()),
            Err(error) => Err(error.into()),
        }
    }

    /// As [`Desk::order`]; then the page at `then`, which says what was done, or the form again with
    /// what is wrong.
    ///
    /// # Errors
    /// What no field is to blame for.
    pub fn done<A: Args>(
        &self,
        form: &Form,
        (fields, run): (&[&str], Run<A>),
        (then, again): (&str, Again),
    ) -> Result<Answer, Turned> {
        match self.order(form, fields, run) {
            Ok(number) => Ok(Answer::said(then, &number)),
            Err(turned) => Ok(again(self, form, &turned.faults()?)?.into()),
        }
    }

    fn session<'s>(&self, streams: Streams<'s>) -> Result<Session<'s>, CliError> {
        Session::new(streams, self.surroundings.clone(), (Some(self.dir.clone()), true))
    }

    /// The day it is, as the commands know it.
    ///
    /// # Errors
    /// As [`Session::new`].
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

    /// The book and its fit as far as they were worked out already.
    fn known(&self) -> Option<Kept> {
        let memory = held(&self.memory.book);
        let known = memory.as_ref()?;
        let Some(Work::Done(fit)) = known.works.get(FIT) else { return None };
        Some(Kept { book: Arc::clone(&known.book), bench: Arc::clone(fit).downcast().ok()? })
    }

    /// The book and its fit before the form with this number was done.
    pub fn before(&self, number: &str) -> Option<Kept> {
        held(&self.spoken).iter().find(|it| it.0 == number)?.1.before.clone()
    }

    /// What a form carries besides what is typed.
    pub fn seal(&self) -> Seal {
        // Without a number the form is refused, which says to open its page again.
        Seal { token: self.token.clone(), number: number().unwrap_or_default() }
    }
}

impl handle::Desk for Desk {
    fn title(&self) -> String {
        let known = held(&self.memory.book).as_ref().map(|known| known.book.config().title.clone());
        known.unwrap_or_else(|| "Swellbook".to_owned())
    }

    fn said(&self, number: &str) -> Option<String> {
        let spoken =
            held(&self.spoken).iter().find(|it| it.0 == number).map(|it| it.1.said.clone());
        spoken.or_else(|| {
            let (number, book) = (number.parse().ok()?, self.book().ok()?);
            book.said_to(number).map(str::to_owned)
        })
    }
}

impl Memory {
    /// Works something out and keeps it for the book that it is of.
    fn keep<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        book: &Arc<Book>,
        make: impl FnOnce() -> Result<T, CliError>,
    ) {
        let work = tried(make);
        if let Some(known) = held(&self.book).as_mut().filter(|it| Arc::ptr_eq(&it.book, book)) {
            known.works.insert(words, work);
        }
        self.done.notify_all();
    }
}

/// Works something out. A fault of ours in it is said, for what was begun is waited for.
fn tried<T: Send + Sync + 'static>(make: impl FnOnce() -> Result<T, CliError>) -> Work {
    match catch_unwind(AssertUnwindSafe(make)) {
        Ok(Ok(work)) => Work::Done(Arc::new(work)),
        Ok(Err(error)) => Work::Failed(error.to_string()),
        Err(_) => Work::Failed("This did not work, because of a fault in swellbook.".to_owned()),
    }
}

/// What is wrong with a form as a whole.
fn whole(message: &str) -> Turned {
    Turned::Faults(vec![Fault::new("", message)])
}

/// What was to be worked out and has no answer.
fn failed(why: &str) -> Turned {
    CliError::Job { message: why.to_owned(), status: ExitStatus::Failed }.into()
}

/// What a thread that fails while it holds it leaves is whole: it is put in at once.
fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl From<super::fitted::BenchError> for Turned {
    fn from(error: super::fitted::BenchError) -> Self {
        CliError::from(error).into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_begun_ends_even_by_a_fault_of_ours() {
        assert!(matches!(tried(|| Ok(1)), Work::Done(_)));
        assert!(matches!(tried::<i32>(|| Err(CliError::Left)), Work::Failed(_)));
        let broken = tried::<i32>(|| panic!("a fault of ours"));
        assert!(matches!(broken, Work::Failed(why) if why.contains("a fault in swellbook")));
    }
}
