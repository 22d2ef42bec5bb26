//! Shows a waiting person how far a long computation is.

use super::session::Session;
use std::time::{Duration, Instant};

/// Shorter computations show no progress.
const PATIENCE: Duration = Duration::from_secs(1);

/// A line on standard error that counts up: only at a terminal, and only after a second.
pub(crate) struct Progress {
    what: &'static str,
    start: Instant,
    shown: bool,
}

impl Progress {
    pub fn new(what: &'static str) -> Self {
        Self { what, start: Instant::now(), shown: false }
    }

    pub fn at(&mut self, session: &mut Session<'_>, done: usize, of: usize) {
        if session.is_watched() && self.start.elapsed() >= PATIENCE {
            self.shown = true;
            session.rewrite(&format!("{} {done} of {of}", self.what));
        }
    }

    pub fn end(self, session: &mut Session<'_>) {
        if self.shown {
            // Spaces, because a stream without colours would filter out an erasing code.
            let longest = self.what.len() + " 1000000 of 1000000".len();
            session.rewrite(&" ".repeat(longest));
            session.rewrite("");
        }
    }
}
