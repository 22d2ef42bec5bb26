//! What Ctrl-C says while a person is asked something: whether anything was saved. The program then
//! ends as it always does.

#[cfg(unix)]
use crate::units::printable;
#[cfg(unix)]
use signal_hook::{consts::SIGINT, iterator::Signals, low_level::emulate_default_handler};
#[cfg(unix)]
use std::os::fd::AsFd;
use std::sync::{Mutex, Once, PoisonError};

/// What Ctrl-C says now; nothing where nobody is asked.
static SAID: Mutex<Option<String>> = Mutex::new(None);

/// As long as it lives, Ctrl-C says its text.
pub(super) struct Saying;

impl Saying {
    pub fn new(text: &str) -> Self {
        static WATCHED: Once = Once::new();
        WATCHED.call_once(watch);
        say(Some(text.to_owned()));
        Self
    }
}

impl Drop for Saying {
    fn drop(&mut self) {
        say(None);
    }
}

fn say(text: Option<String>) {
    *SAID.lock().unwrap_or_else(PoisonError::into_inner) = text;
}

/// Where the signal cannot be watched, Ctrl-C ends the program without a word.
#[cfg(unix)]
fn watch() {
    use std::io::Write;
    // The standard handle is locked by the thread that asks.
    let handles = std::io::stderr().as_fd().try_clone_to_owned().map(std::fs::File::from);
    let (Ok(mut err), Ok(mut signals)) = (handles, Signals::new([SIGINT])) else { return };
    std::thread::spawn(move || {
        for signal in signals.forever() {
            if let Some(text) = &*SAID.lock().unwrap_or_else(PoisonError::into_inner) {
                let _ = writeln!(err, "\n{}", printable(text.trim_end()));
            }
            let _ = emulate_default_handler(signal);
        }
    });
}

#[cfg(not(unix))]
fn watch() {}
