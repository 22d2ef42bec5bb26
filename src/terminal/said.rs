//! What a command prints: results, messages, and how the book was changed.
//!
//! If writing a result fails, that is an error; after a change of the book it is
//! [`CliError::Kept`]. If writing a message fails, nothing happens: only the book and the results
//! decide whether a command is done.

use super::refusal::CliError;
use super::session::Session;
use crate::units::printable;
use std::borrow::Cow;
use std::io::Write;

impl Session<'_> {
    /// Writes a result and a newline to standard output.
    pub fn say(&mut self, text: &str) -> Result<(), CliError> {
        // Avoids a copy of a long document just for its last newline.
        match printable(text) {
            Cow::Borrowed(whole) if whole.len() == whole.trim_end().len() + 1 => {
                self.put(whole.as_bytes())
            }
            text => self.put(format!("{}\n", text.trim_end()).as_bytes()),
        }
    }

    /// Writes a result as bytes to standard output.
    pub(crate) fn put(&mut self, bytes: &[u8]) -> Result<(), CliError> {
        let out = &mut self.streams.out;
        out.write_all(bytes).and_then(|()| out.flush()).map_err(CliError::Output)
    }

    /// Writes a message and a newline to standard error.
    pub fn tell(&mut self, text: &str) {
        self.whisper(&format!("{}\n", text.trim_end()));
    }

    /// Writes a message without a newline to standard error; returns whether that worked.
    pub(crate) fn whisper(&mut self, text: &str) -> bool {
        let err = &mut self.streams.err;
        err.write_all(printable(text).as_bytes()).and_then(|()| err.flush()).is_ok()
    }

    /// Writes a message to standard error, over the one in the current line.
    pub(crate) fn rewrite(&mut self, text: &str) {
        // Written on its own, because a carriage return within a text is shown as a code.
        let _ = self.streams.err.write_all(b"\r");
        self.whisper(text);
    }

    /// Rings the bell. It bypasses the filter that strips unwanted colours, which would strip the
    /// bell too.
    pub(crate) fn ring(&self) {
        if self.surroundings.bell {
            let _ = std::io::stderr().write_all(b"\x07");
        }
    }

    /// Prints what changed and the command that undoes it.
    pub fn changed(&mut self, what: &str, take_back: &str) -> Result<(), CliError> {
        let line = self.change_line(what, take_back);
        self.says_kept(&line)
    }

    /// Prints what changed to standard output. If that fails, the error says it on standard error.
    pub(crate) fn says_kept(&mut self, line: &str) -> Result<(), CliError> {
        self.keeps(line);
        self.say(line)
    }

    /// The line about a change. It names no command for a page, which has its own ways to undo.
    pub(crate) fn change_line(&self, what: &str, take_back: &str) -> String {
        if self.sending.is_some() {
            return what.to_owned();
        }
        let command = self.command(take_back);
        format!("{what} (to undo: {command} --reason \"…\")")
    }

    /// Remembers how the book was changed, so that a later failure can say it.
    pub(crate) fn keeps(&mut self, line: &str) {
        self.kept = Some(line.trim_end().to_owned());
    }

    /// The outcome of the command. A failed output becomes [`CliError::Kept`] if the book was
    /// changed.
    pub(crate) fn settled<T>(self, outcome: Result<T, CliError>) -> Result<T, CliError> {
        outcome.map_err(|error| match (error, self.kept) {
            // A command within this one has said less about the change.
            (CliError::Output(why) | CliError::Kept { why, .. }, Some(kept)) => {
                CliError::Kept { kept, why }
            }
            (error, _) => error,
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::terminal::session::{Session, Streams, Surroundings};

    #[test]
    fn a_line_is_written_over_and_what_steers_a_terminal_is_shown() {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
        let mut session = Session::new(streams, Surroundings::of_process(), None, false).unwrap();
        session.rewrite("1 of 2");
        session.tell("a\u{1b}b");
        assert_eq!(err, b"\r1 of 2a\\u{1b}b\n");
    }
}
