//! While a question is open, Ctrl-C first says whether anything was saved. The program then ends as
//! usual.

#[cfg(unix)]
use crate::units::printable;
#[cfg(unix)]
use signal_hook::{consts::SIGINT, iterator::Signals, low_level::emulate_default_handler};
#[cfg(unix)]
use std::os::fd::AsFd;
use std::sync::{Mutex, Once, PoisonError};

/// The message for Ctrl-C; `None` if no question is open.
static SAID: Mutex<Option<String>> = Mutex::new(None);

/// While it lives, Ctrl-C prints its text.
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

/// If the signal cannot be watched, Ctrl-C ends the program silently.
#[cfg(unix)]
fn watch() {
    use std::io::Write;
    // A duplicate handle, because the asking thread holds the lock of standard error.
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
