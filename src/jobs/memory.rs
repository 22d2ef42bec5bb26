//! The book as it is now, its fit, and whatever else takes its time: worked out once for all pages, and
//! kept until the book changes.

use super::fitted::{Bench, Fitted};
use crate::book::{Book, Fingerprint};
use crate::page::turned::Turned;
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::CliError;
use std::any::Any;
use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How long a page waits for what is being worked out before it says so.
const PATIENCE: Duration = Duration::from_millis(1500);
/// What the fit is known by.
const FIT: &str = "Working out what the trials say.";

/// What is known of the book in a folder.
pub(super) struct Memory {
    pub dir: PathBuf,
    shared: Arc<Shared>,
}

/// A book and what was worked out from it.
#[derive(Default)]
struct Shared {
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

impl Memory {
    pub fn of(dir: PathBuf) -> Self {
        Self { dir, shared: Arc::default() }
    }

    /// The book as it is now.
    ///
    /// # Errors
    /// As [`Book::open`].
    pub fn book(&self) -> Result<Arc<Book>, Turned> {
        let mut memory = held(&self.shared.book);
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
    /// As [`Memory::worked_out`].
    pub fn kept(&self) -> Result<Kept, Turned> {
        let book = self.book()?;
        let fit = |book: &Arc<Book>| Ok(Bench::of(book)?);
        let bench = self.worked_out(FIT, &book, fit)?;
        Ok(Kept { book, bench })
    }

    /// The title of the book when it was read last.
    pub fn title(&self) -> Option<String> {
        held(&self.shared.book).as_ref().map(|known| known.book.config().title.clone())
    }

    /// The book and its fit as far as they were worked out already.
    pub fn known(&self) -> Option<Kept> {
        let memory = held(&self.shared.book);
        let known = memory.as_ref()?;
        let Some(Work::Done(fit)) = known.works.get(FIT) else { return None };
        Some(Kept { book: Arc::clone(&known.book), bench: Arc::clone(fit).downcast().ok()? })
    }

    /// What `make` makes of a book; it is known by its words.
    ///
    /// # Errors
    /// [`Turned::Working`] while it is worked out; those of `make`.
    pub fn worked_out<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        book: &Arc<Book>,
        make: impl FnOnce(&Arc<Book>) -> Result<T, CliError> + Send + 'static,
    ) -> Result<Arc<T>, Turned> {
        let is_same = |known: &&mut Remembered| Arc::ptr_eq(&known.book, book);
        let mut memory = held(&self.shared.book);
        // Meanwhile the book may have changed: then this is of no use to anybody else.
        let Some(known) = memory.as_mut().filter(is_same) else {
            return Err(Turned::Working(words));
        };
        if !known.works.contains_key(words) {
            known.works.insert(words, Work::Begun);
            let (shared, book) = (Arc::clone(&self.shared), Arc::clone(book));
            std::thread::spawn(move || shared.keep(words, &book, || make(&book)));
        }
        let is_begun = |memory: &mut Option<Remembered>| {
            let work = memory.as_ref().and_then(|known| known.works.get(words));
            matches!(work, Some(Work::Begun))
        };
        let waited = self.shared.done.wait_timeout_while(memory, PATIENCE, is_begun);
        let mut memory = waited.unwrap_or_else(PoisonError::into_inner).0;
        match memory.as_mut().filter(is_same).and_then(|known| known.works.get(words)) {
            Some(Work::Done(work)) => {
                Arc::clone(work).downcast().map_err(|_| Turned::Working(words))
            }
            Some(Work::Failed(why)) => Err(failed(why)),
            _ => Err(Turned::Working(words)),
        }
    }
}

impl Shared {
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

/// What was to be worked out and has no answer.
fn failed(why: &str) -> Turned {
    CliError::Job { message: why.to_owned(), status: ExitStatus::Failed }.into()
}

/// What a thread that fails while it holds it leaves is whole: it is put in at once.
pub(super) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
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
