//! Questions to a person at a terminal, and values given by a flag or by an answer.

use super::interrupt::Saying;
use super::line::{Line, read_line};
use super::refusal::CliError;
use super::session::Session;
use super::suggest;
use super::suggest::{picked, unmistakable};
use super::values::{optional, word, yes};
use crate::trade::UnknownWord;
use crate::units::GaugeError;
use clap::builder::styling::AnsiColor;
use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use std::ffi::OsStr;
use std::fmt::Display;
use std::str::FromStr;

/// A value that is given by a flag or asked for.
#[derive(Clone, Copy, Debug)]
pub struct Field<'q> {
    pub flag: &'static str,
    /// The question, as a noun: `sheets in a section`.
    pub question: &'q str,
    /// Taken if nothing is given; an empty text leaves the value out.
    pub default: Option<&'q str>,
}

impl Session<'_> {
    /// Whether to ask for the missing fields: a required one is missing and a person is there. If
    /// nobody can be asked, the error names every missing flag.
    pub fn asking(&self, needed: &[(&'static str, bool)]) -> Result<bool, CliError> {
        let missing = needed.iter().filter(|(_, given)| !given).map(|(flag, _)| *flag);
        let flags: Vec<&'static str> = missing.collect();
        if flags.is_empty() || self.can_ask() {
            Ok(!flags.is_empty())
        } else {
            Err(CliError::Missing { flags })
        }
    }

    /// The value of a field: from its flag, else asked for if `asking`, else its default. A person
    /// is asked again for what `parse` refuses.
    pub fn field<T, E: Display>(
        &mut self,
        given: Option<&str>,
        field: Field<'_>,
        asking: bool,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Result<T, CliError> {
        match (given, field.default) {
            (Some(text), _) => by_flag(field.flag, text, parse),
            (None, _) if asking => self.ask(field, parse),
            (None, Some(default)) => by_flag(field.flag, default, parse),
            (None, None) => Err(CliError::Missing { flags: vec![field.flag] }),
        }
    }

    /// The name of an entry of the book: given by flag or position, else chosen from a numbered
    /// list.
    pub fn choose(
        &mut self,
        given: Option<&str>,
        field: Field<'_>,
        kind: &str,
        names: &[&str],
    ) -> Result<String, CliError> {
        match given {
            // A flag never means a number of the list, because the list was not shown.
            Some(text) if !names.contains(&text.trim()) => {
                Err(CliError::value(field.flag, suggest::unknown(kind, text, names)))
            }
            Some(text) => Ok(text.trim().to_owned()),
            None if !self.can_ask() => Err(CliError::Missing { flags: vec![field.flag] }),
            None if names.is_empty() => {
                let message = format!("the book holds no {kind} yet; record one first");
                Err(CliError::value(field.flag, message))
            }
            None => {
                let default = field.default.map(|name| unmistakable(name, names));
                let field = Field { default: default.as_deref(), ..field };
                self.ask_from(field, names, |text| picked(kind, text, names))
            }
        }
    }

    /// Shows a numbered list and asks for one of it.
    fn ask_from<T, E: Display>(
        &mut self,
        field: Field<'_>,
        names: &[&str],
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Result<T, CliError> {
        self.list(field.question, names);
        let question = format!("{} (number or name)", field.question);
        self.ask(Field { question: &question, ..field }, parse)
    }

    /// An entry of the book chosen from a numbered list, or none.
    pub fn choose_or_not(
        &mut self,
        field: Field<'_>,
        kind: &str,
        names: &[&str],
    ) -> Result<Option<String>, CliError> {
        self.list(kind, names);
        self.ask(field, |text| optional(text, |text| picked(kind, text, names)))
    }

    /// A word of the program, given by flag or chosen from a numbered list, in any accepted
    /// spelling.
    pub fn choose_word<T: FromStr<Err = UnknownWord>>(
        &mut self,
        given: Option<&str>,
        field: Field<'_>,
        words: &[&str],
    ) -> Result<T, CliError> {
        match given {
            Some(text) => by_flag(field.flag, text, word),
            None if !self.can_ask() => Err(CliError::Missing { flags: vec![field.flag] }),
            None => self.ask_from(field, words, |text| {
                word(picked(field.question, text, words).as_deref().unwrap_or(text))
            }),
        }
    }

    /// Whether a person says yes to a question; Enter means `no`.
    pub fn agrees(
        &mut self,
        flag: &'static str,
        question: &str,
        no: &str,
    ) -> Result<bool, CliError> {
        self.ask(Field { flag, question, default: Some(no) }, yes)
    }

    /// Shows a numbered list of names.
    pub fn list(&mut self, question: &str, names: &[&str]) {
        let mut text = format!("{question}:\n");
        for (index, name) in names.iter().enumerate() {
            text += &format!("  {:>2}  {name}\n", index + 1);
        }
        self.whisper(&text);
    }

    /// Asks until the answer parses. Enter takes the default.
    ///
    /// If showing the question fails, nothing is asked: the person never saw it, so what they type
    /// is for something else.
    pub fn ask<T, E: Display>(
        &mut self,
        field: Field<'_>,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Result<T, CliError> {
        loop {
            let Some(answer) = self.answer(field)? else { continue };
            if is_quit(&answer) {
                return Err(CliError::Left);
            }
            let text = match (answer.is_empty(), field.default) {
                (true, None) => {
                    self.tell(
                        "  nothing was typed, and nothing is saved yet; answer, or type quit",
                    );
                    continue;
                }
                (true, Some(default)) => default,
                (false, _) => &answer,
            };
            match parse(text) {
                Ok(value) => return Ok(value),
                Err(error) => self.refuse(&error.to_string()),
            }
        }
    }

    /// One answer as text; `None` if the line was not usable and has been refused.
    fn answer(&mut self, field: Field<'_>) -> Result<Option<String>, CliError> {
        let stopped = self.at_stake.clone().unwrap_or_else(|| CliError::Left.to_string());
        let missing = || CliError::Missing { flags: vec![field.flag] };
        let line = self.line(&prompt(field), &stopped)?.ok_or_else(missing)?;
        let Line::Bytes(bytes) = line else {
            self.whisper("\n");
            return Err(CliError::Ended { question: field.question.to_owned() });
        };
        match answer_text(bytes) {
            Ok(text) => Ok(Some(text)),
            Err(error) => {
                self.refuse(&error.to_string());
                Ok(None)
            }
        }
    }

    /// Shows a question and reads one line that a person or a gauge types; `None` if showing it
    /// fails. From the moment the question is visible, Ctrl-C says `interrupted`.
    pub(crate) fn line(
        &mut self,
        question: &str,
        interrupted: &str,
    ) -> Result<Option<Line>, CliError> {
        let _saying = self.can_ask().then(|| Saying::new(interrupted));
        if !self.whisper(question) {
            return Ok(None);
        }
        read_line(self.streams.input).map(Some).map_err(CliError::Input)
    }

    /// Says why an answer is refused, with a bell, because eyes may be on the work.
    pub(crate) fn refuse(&mut self, why: &str) {
        let yellow = AnsiColor::Yellow.on_default();
        self.ring();
        self.whisper(&format!("{yellow}  {why}{yellow:#}\n"));
    }
}

/// A line as text, without surrounding spaces, byte-order marks and NULs.
fn answer_text(bytes: Vec<u8>) -> Result<String, GaugeError> {
    if bytes.len() > crate::units::LONGEST_LINE {
        return Err(GaugeError::TooLong);
    }
    let text = String::from_utf8(bytes).map_err(|_| GaugeError::NotText)?;
    Ok(text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}' || c == '\0').to_owned())
}

pub(crate) fn is_quit(answer: &str) -> bool {
    ["quit", "exit"].iter().any(|word| answer.eq_ignore_ascii_case(word))
}

fn prompt(field: Field<'_>) -> String {
    let bold = clap::builder::styling::Style::new().bold();
    match field.default {
        Some("") => format!("{bold}{}{bold:#} [leave out]: ", field.question),
        Some(default) => format!("{bold}{}{bold:#} [{default}]: ", field.question),
        None => format!("{bold}{}{bold:#}: ", field.question),
    }
}

/// The words that a flag takes, for its help. Any text is accepted here, because a word may be
/// written in several ways; it is parsed later.
#[derive(Clone, Debug)]
pub(crate) struct Words(pub &'static [&'static str]);

impl TypedValueParser for Words {
    type Value = String;

    fn parse_ref(
        &self,
        command: &clap::Command,
        arg: Option<&clap::Arg>,
        value: &OsStr,
    ) -> Result<String, clap::Error> {
        StringValueParser::new().parse_ref(command, arg, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(self.0.iter().copied().map(PossibleValue::new)))
    }
}

pub fn by_flag<T, E: Display>(
    flag: &'static str,
    text: &str,
    parse: impl Fn(&str) -> Result<T, E>,
) -> Result<T, CliError> {
    parse(text).map_err(|error| CliError::value(flag, error.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_text_of_bounded_length() {
        assert_eq!(answer_text(b" T1\r".to_vec()).unwrap(), "T1");
        assert!(answer_text(vec![0xff, 0xfe]).is_err());
        assert!(answer_text(vec![b'9'; 5000]).is_err());
    }
}
