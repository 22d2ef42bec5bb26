//! Browsers that go from test to test, because starting one takes longer than most tests use it.

use crate::support::browser::{Browser, Window};
use std::ops::Deref;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The number of browsers that tests use, and the browsers that wait for the next test.
struct Browsers {
    led: usize,
    waiting: Vec<Browser>,
}

static BROWSERS: Mutex<Browsers> = Mutex::new(Browsers { led: 0, waiting: Vec::new() });

fn browsers() -> MutexGuard<'static, Browsers> {
    BROWSERS.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A browser for one test: as new, even if other tests have used it.
pub struct Lent(Option<Browser>);

impl Lent {
    /// A window like this one; `None` if no browser is installed.
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
            // If none starts, `lent` is dropped empty.
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
    /// The last test with a browser ends them all, so that nothing outlives the tests.
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
