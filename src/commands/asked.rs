//! At a terminal, asks for the options that a command about a book still needs, and adds the
//! answers to the command line.

use super::Arguments;
use crate::book::Book;
use crate::jobs::plan_spec::command_asked::{Asking, answer_to};
use crate::terminal::refusal::CliError;
use crate::terminal::session::{Session, Streams, Surroundings, quoted};
use clap::error::ErrorKind;
use clap::{ArgMatches, CommandFactory, Parser};
use std::ffi::OsString;
use std::path::PathBuf;

const ASKING: [&str; 4] = ["predict", "plan", "midway", "next"];

/// The command line with the answers appended; `None` if nothing is missing or nobody can be asked.
/// The answers in `refused` are missing because the command refused them.
pub(super) fn completed(
    args: &[OsString],
    refused: &[String],
    streams: Streams<'_>,
    surroundings: &Surroundings,
) -> Result<Option<Vec<OsString>>, CliError> {
    let Some(matches) = surroundings.terminal.then(|| understood(args)).flatten() else {
        return Ok(None);
    };
    let Some((command, typed)) = matches.subcommand().filter(|it| ASKING.contains(&it.0)) else {
        return Ok(None);
    };
    let value = |id: &str| {
        let value = typed.try_get_raw(id).ok()??.next()?;
        Some(value.to_string_lossy().into_owned())
    };
    let asking = Asking { command, typed: &value, refused };
    let no_input = typed.get_flag("no_input");
    if no_input || !asking.is_open() {
        return Ok(None);
    }
    let folder = typed.get_one::<PathBuf>("book").cloned();
    let mut session = Session::new(streams, surroundings.clone(), folder, no_input)?;
    let book = Book::open(&session.book_dir()?)?;
    let answers = asking.answers(&mut session, &book)?;
    let words = answers.into_iter().map(|(flag, value)| format!("{flag}={value}").into());
    Ok(Some(args.iter().cloned().chain(words).collect()))
}

/// The answers that `error` is about: words of `line` from `typed` on, such as `--spine=9.02;9.05`.
pub(super) fn refused(error: &CliError, line: &[OsString], typed: usize) -> Vec<String> {
    let CliError::Value { flag, .. } = error else { return Vec::new() };
    let flags: Vec<&str> = flag.split(", ").collect();
    let is_at_fault = |word: &String| flags.iter().any(|flag| answer_to(flag, word).is_some());
    let answers = line.iter().skip(typed).map(|word| word.to_string_lossy().into_owned());
    answers.filter(is_at_fault).collect()
}

/// Parses the command line leniently; `None` if it has any fault besides missing arguments.
fn understood(args: &[OsString]) -> Option<ArgMatches> {
    let is_sound = match Arguments::try_parse_from(args) {
        Ok(_) => true,
        Err(error) => error.kind() == ErrorKind::MissingRequiredArgument,
    };
    let lenient = || Arguments::command().ignore_errors(true).try_get_matches_from(args).ok();
    is_sound.then(lenient).flatten()
}

/// The equivalent command line without questions, as one would type it.
pub(super) fn as_typed(args: &[OsString]) -> String {
    let word = |arg: &OsString| {
        let arg = arg.to_string_lossy();
        match arg.split_once('=').filter(|(flag, _)| flag.starts_with("--")) {
            Some((flag, value)) if !value.starts_with('-') => format!("{flag} {}", quoted(value)),
            Some((flag, value)) => format!("{flag}={}", quoted(value)),
            None => quoted(&arg),
        }
    };
    let words: Vec<String> = args.iter().skip(1).map(word).collect();
    format!("without questions: swellbook {}", words.join(" "))
}
