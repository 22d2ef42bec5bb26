//! A cache of the current book, its fit and other slow results, shared by all pages until the book
//! changes.

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

/// How long a page waits for a result before it says that it is still being computed.
const PATIENCE: Duration = Duration::from_millis(1500);
/// Cache key of the fit, shown while it is computed.
const FIT: &str = "Working out what the trials say.";

/// The cache for the book in one folder.
pub(super) struct Memory {
    pub dir: PathBuf,
    shared: Arc<Shared>,
}

/// A book and its results, shared with the threads that compute them.
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

/// A slow result, started once for every state of the book.
enum Work {
    Begun,
    Done(Arc<dyn Any + Send + Sync>),
    Failed(String),
}

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

    /// The current book, reloaded if its files have changed.
    pub fn book(&self) -> Result<Arc<Book>, Turned> {
        let mut memory = held(&self.shared.book);
        let known = memory.as_ref().map(|known| known.fingerprint);
        if let Some((book, fingerprint)) = Book::open_changed(&self.dir, known)? {
            *memory = Some(Remembered { fingerprint, book: Arc::new(book), works: HashMap::new() });
        }
        let book = memory.as_ref().map(|known| Arc::clone(&known.book));
        book.ok_or_else(|| Turned::Missing("the book".to_owned()))
    }

    pub fn kept(&self) -> Result<Kept, Turned> {
        let book = self.book()?;
        let fit = |book: &Arc<Book>| Ok(Bench::of(book)?);
        let bench = self.worked_out(FIT, &book, fit)?;
        Ok(Kept { book, bench })
    }

    /// The book's title when it was last read.
    pub fn title(&self) -> Option<String> {
        held(&self.shared.book).as_ref().map(|known| known.book.config().title.clone())
    }

    /// The book and its fit, if both are already in memory.
    pub fn known(&self) -> Option<Kept> {
        let memory = held(&self.shared.book);
        let known = memory.as_ref()?;
        let Some(Work::Done(fit)) = known.works.get(FIT) else { return None };
        Some(Kept { book: Arc::clone(&known.book), bench: Arc::clone(fit).downcast().ok()? })
    }

    /// The result of `make`, cached under `words`. The first call starts a thread to compute it.
    ///
    /// # Errors
    /// [`Turned::Working`] while it is running; errors of `make`.
    pub fn worked_out<T: Send + Sync + 'static>(
        &self,
        words: &'static str,
        book: &Arc<Book>,
        make: impl FnOnce(&Arc<Book>) -> Result<T, CliError> + Send + 'static,
    ) -> Result<Arc<T>, Turned> {
        let is_same = |known: &&mut Remembered| Arc::ptr_eq(&known.book, book);
        let mut memory = held(&self.shared.book);
        // The book may have changed in the meantime; then nobody else needs this result.
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
    /// Computes a result and stores it, unless the book has changed in the meantime.
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

/// Computes a result. A panic becomes a failed result, because pages wait for whatever was started.
fn tried<T: Send + Sync + 'static>(make: impl FnOnce() -> Result<T, CliError>) -> Work {
    match catch_unwind(AssertUnwindSafe(make)) {
        Ok(Ok(work)) => Work::Done(Arc::new(work)),
        Ok(Err(error)) => Work::Failed(error.to_string()),
        Err(_) => Work::Failed("This did not work, because of a fault in swellbook.".to_owned()),
    }
}

fn failed(why: &str) -> Turned {
    CliError::Job { message: why.to_owned(), status: ExitStatus::Failed }.into()
}

/// Locks, ignoring poisoning: values go in whole, so a thread that panics with the lock leaves them
/// whole.
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
