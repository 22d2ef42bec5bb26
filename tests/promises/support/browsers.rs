//! Browsers that go from test to test: one takes longer to start than most tests lead it for.

use crate::support::browser::{Browser, Window};
use std::ops::Deref;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Those that are led by a test, by their number, and those that wait for the next one.
struct Browsers {
    led: usize,
    waiting: Vec<Browser>,
}

static BROWSERS: Mutex<Browsers> = Mutex::new(Browsers { led: 0, waiting: Vec::new() });

fn browsers() -> MutexGuard<'static, Browsers> {
    BROWSERS.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A browser for one test: as new, though others may have led it.
pub struct Lent(Option<Browser>);

impl Lent {
    /// A window like this one; `None` where there is no browser to be had.
    pub fn open(window: Window) -> Option<Self> {
        let waiting = {
            let mut browsers = browsers();
            browsers.led += 1;
            let at = browsers.waiting.iter().position(|browser| browser.window == window);
            at.map(|at| browsers.waiting.swap_remove(at))
        };
        let lent = Self(waiting);
        match &lent.0 {
            Some(_) => Some(lent),
            // Where none starts, `lent` is given back empty.
            None => Browser::open(window).map(|browser| lent.with(browser)),
        }
    }

    fn with(mut self, browser: Browser) -> Self {
        self.0 = Some(browser);
        self
    }
}

impl Deref for Lent {
    type Target = Browser;

    fn deref(&self) -> &Browser {
        self.0.as_ref().expect("it is there until it is given back")
    }
}

impl Drop for Lent {
    /// Whoever is the last to lead one ends them all: nothing outlives the tests.
    fn drop(&mut self) {
        let given_back =
            self.0.take().filter(|browser| !std::thread::panicking() && browser.is_as_new());
        let ended = {
            let mut browsers = browsers();
            browsers.led -= 1;
            browsers.waiting.extend(given_back);
            if browsers.led == 0 { std::mem::take(&mut browsers.waiting) } else { Vec::new() }
        };
        drop(ended);
    }
}
