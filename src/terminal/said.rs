//! What a command says: results, messages, and how the book was changed.
//!
//! A result that cannot be written is an error, of another kind once the book was changed. A message
//! that nobody can read stops nothing and decides nothing: whether a command is done is for the
//! book and its results to say.

use super::refusal::{CliError, Outcome};
use super::session::Session;
use crate::units::printable;
use std::borrow::Cow;
use std::io::Write;

impl Session<'_> {
    /// A result, with a line end: standard output.
    ///
    /// # Errors
    /// [`CliError::Output`].
    pub fn say(&mut self, text: &str) -> Result<(), CliError> {
        // A long document is not copied for the sake of its last line end.
        match printable(text) {
            Cow::Borrowed(whole) if whole.len() == whole.trim_end().len() + 1 => {
                self.put(whole.as_bytes())
            }
            text => self.put(format!("{}\n", text.trim_end()).as_bytes()),
        }
    }

    /// A result as bytes: standard output.
    pub(crate) fn put(&mut self, bytes: &[u8]) -> Result<(), CliError> {
        let out = &mut self.streams.out;
        out.write_all(bytes).and_then(|()| out.flush()).map_err(CliError::Output)
    }

    /// A message, with a line end: standard error.
    pub fn tell(&mut self, text: &str) {
        self.whisper(&format!("{}\n", text.trim_end()));
    }

    /// A message without a line end: standard error.
    pub(crate) fn whisper(&mut self, text: &str) {
        self.shows(text);
    }

    /// Whether a question could be shown, on standard error.
    pub(crate) fn shows(&mut self, question: &str) -> bool {
        let err = &mut self.streams.err;
        err.write_all(printable(question).as_bytes()).and_then(|()| err.flush()).is_ok()
    }

    /// A message over the one that stands in the line: standard error.
    pub(crate) fn rewrite(&mut self, text: &str) {
        // A carriage return in a text is shown as a code, so that it goes by itself.
        let _ = self.streams.err.write_all(b"\r");
        self.whisper(text);
    }

    /// Rings the bell. It goes past the filter that takes colours out where they are unwanted,
    /// which would take it for one.
    pub(crate) fn ring(&self) {
        if self.surroundings.bell {
            let _ = std::io::stderr().write_all(b"\x07");
        }
    }

    /// A line saying what changed and the command that takes it back.
    ///
    /// # Errors
    /// [`CliError::Output`].
    pub fn changed(&mut self, what: &str, take_back: &str) -> Result<(), CliError> {
        let line = self.change_line(what, take_back);
        self.says_kept(&line)
    }

    /// A line saying what changed: standard output, or the other stream where that fails.
    ///
    /// # Errors
    /// [`CliError::Output`].
    pub(crate) fn says_kept(&mut self, line: &str) -> Result<(), CliError> {
        self.keeps(line);
        self.say(line)
    }

    /// As [`Session::changed`], beside a result that a program reads: standard error.
    pub fn changed_beside(&mut self, what: &str, take_back: &str) {
        let line = self.change_line(what, take_back);
        self.keeps(&line);
        self.tell(&line);
    }

    /// A page has its own ways to undo.
    pub(crate) fn change_line(&self, what: &str, take_back: &str) -> String {
        if self.sending.is_some() {
            return what.to_owned();
        }
        let command = self.command(take_back);
        format!("{what} (to undo: {command} --reason \"…\")")
    }

    /// Remembers how the book was changed, for a failure to say what is there all the same.
    pub(crate) fn keeps(&mut self, line: &str) {
        self.kept = Some(line.trim_end().to_owned());
    }

    /// How the command ended: a result that cannot be written is another thing once the book was
    /// changed.
    ///
    /// # Errors
    /// [`CliError::Kept`] for that, others as they are.
    pub(crate) fn settled(self, outcome: Outcome) -> Outcome {
        outcome.map_err(|error| match (error, self.kept) {
            // A command within this one has said less of it.
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
        let mut session = Session::new(streams, Surroundings::of_process(), (None, false)).unwrap();
        session.rewrite("1 of 2");
        session.tell("a\u{1b}b");
        assert_eq!(err, b"\r1 of 2a\\u{1b}b\n");
    }
}
