//! The command line: arguments and prompts, and a call into the layers to the left.
//!
//! One file per command. A new command is a file with its `Args` and a `run(args, session)`, and a
//! variant of `Command` in command.rs.

mod audit;
mod card;
mod chart;
mod command;
mod error;
mod exit;
mod export;
mod fit;
mod gauge;
mod import;
mod init;
mod keep;
mod line;
mod midway;
mod next;
mod output;
mod plan;
mod planned;
mod predict;
mod progress;
mod prompt;
mod question;
mod record;
mod refusal;
mod report;
mod said;
mod session;
mod start;
mod strike;
mod suggest;
mod tour;
mod values;
mod wanted;

use command::Arguments;
pub use error::CliError;
pub use exit::ExitStatus;
pub use session::{Session, Streams, Surroundings};

use crate::units::{printable, shown_whole};
use clap::Parser;
use clap::builder::styling::AnsiColor;
use clap::error::ErrorKind;
use std::ffi::OsString;

/// How a command ended, or why it did not.
pub type Outcome = Result<ExitStatus, CliError>;

/// Runs the program with its command line (the program's name first) and returns its exit code.
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    streams: Streams<'_>,
    surroundings: Surroundings,
) -> ExitStatus {
    let Streams { input, out, err } = streams;
    let args = negative_values_joined(args);
    let outcome = match Arguments::try_parse_from(&args) {
        Ok(arguments) => {
            let streams = Streams { input, out, err: &mut *err };
            arguments.run(streams, surroundings)
        }
        Err(error) => answer_parser(&told_safely(error, &args), out, err),
    };
    outcome.unwrap_or_else(|error| refuse(&error, err))
}

/// Joins a value such as `-0.1mm` to the flag before it, so that the parser takes it for a value
/// and not for a flag of its own, and the value itself can be judged.
fn negative_values_joined(args: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let is_flag = |arg: &OsString| {
        arg.to_str().is_some_and(|arg| arg.starts_with("--") && arg.len() > 2 && !arg.contains('='))
    };
    let is_negative = |arg: &OsString| {
        let unsigned = arg.to_str().and_then(|arg| arg.strip_prefix('-')).unwrap_or_default();
        unsigned.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','))
    };
    let mut joined: Vec<OsString> = Vec::new();
    for arg in args {
        match joined.last_mut() {
            Some(flag) if is_flag(flag) && is_negative(&arg) => {
                flag.push("=");
                flag.push(arg);
            }
            _ => joined.push(arg),
        }
    }
    joined
}

/// The parser's error with the arguments in it made fit to be shown. The parser repeats them as they
/// are, so it is asked again with what can be shown of them.
fn told_safely(error: clap::Error, args: &[OsString]) -> clap::Error {
    let shown: Vec<String> = args.iter().map(|arg| shown_whole(&arg.to_string_lossy())).collect();
    Arguments::try_parse_from(shown).err().unwrap_or(error)
}

/// What the parser has to say: help and version are results, anything else is a usage error.
fn answer_parser(
    error: &clap::Error,
    out: &mut dyn std::io::Write,
    err: &mut dyn std::io::Write,
) -> Outcome {
    let text = printable(&error.render().ansi().to_string());
    let wanted = matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion);
    if wanted {
        out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(CliError::Output)?;
        return Ok(ExitStatus::Done);
    }
    // A message that nobody can read changes nothing.
    let _ = err.write_all(text.as_bytes());
    Ok(ExitStatus::Usage)
}

/// The message of an error, on standard error, and its exit code.
///
/// Where the reader of the results went away all is done that was asked for, and the code is 0. It
/// is quiet too, but for a change of the book, which somebody has to be told of.
fn refuse(error: &CliError, err: &mut dyn std::io::Write) -> ExitStatus {
    let red = AnsiColor::Red.on_default().bold();
    let (text, status) = match error {
        CliError::Kept { kept, .. } if error.is_closed_pipe() => {
            (format!("note: done and kept, but nobody read the result: {kept}"), ExitStatus::Done)
        }
        _ if error.is_closed_pipe() => return ExitStatus::Done,
        _ => (format!("{red}error:{red:#} {error}"), error.status()),
    };
    // Nothing is left to say it with when standard error fails too.
    let _ = writeln!(err, "{}", printable(&text));
    status
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs without a process around it, as a person at a terminal who answers `input`.
    fn run_in(folder: &std::path::Path, args: &[&str], input: &[u8]) -> (ExitStatus, String) {
        let (mut input, mut out, mut err) = (input, Vec::new(), Vec::new());
        let streams = Streams { input: &mut input, out: &mut out, err: &mut err };
        let surroundings = Surroundings {
            folder: folder.to_owned(),
            book: None,
            today: Some("2026-03-01".to_owned()),
            terminal: true,
            bell: false,
            width: 80,
            unicode: false,
        };
        let args = std::iter::once("swellbook").chain(args.iter().copied()).map(OsString::from);
        let status = run(args, streams, surroundings);
        (status, String::from_utf8([out, err].concat()).unwrap())
    }

    #[test]
    fn it_runs_without_a_process() {
        let dir = tempfile::tempdir().unwrap();
        assert_eq!(run_in(dir.path(), &["init", "."], b"").0, ExitStatus::Done);
        let (status, text) = run_in(dir.path(), &["record", "target", "limp"], b"12\n2\n10\n20\n");
        assert_eq!(status, ExitStatus::Done, "{text}");
        assert!(text.contains("recorded target limp: 12 to 20 %"), "{text}");
        assert!(text.contains("the low bound 12 % is not below the high bound 2 %"), "{text}");
    }

    #[test]
    fn an_end_of_input_in_a_question_writes_nothing() {
        let dir = tempfile::tempdir().unwrap();
        run_in(dir.path(), &["init", "."], b"");
        let before = std::fs::read(dir.path().join("targets.csv")).unwrap();
        let (status, text) = run_in(dir.path(), &["record", "target", "limp"], b"12\n2");
        assert_eq!(status, ExitStatus::Failed);
        assert!(text.contains("the input ended before most swell in per cent was answered"));
        assert_eq!(std::fs::read(dir.path().join("targets.csv")).unwrap(), before);
    }

    #[test]
    fn a_negative_value_stays_with_its_flag() {
        let joined = |args: &[&str]| {
            let args = negative_values_joined(args.iter().map(OsString::from));
            args.into_iter().map(|arg| arg.into_string().unwrap()).collect::<Vec<_>>()
        };
        assert_eq!(joined(&["x", "--low", "-5", "--high", "3"]), ["x", "--low=-5", "--high", "3"]);
        assert_eq!(joined(&["x", "--spine", "-.5mm"]), ["x", "--spine=-.5mm"]);
        assert_eq!(joined(&["x", "--", "-5"]), ["x", "--", "-5"]);
        assert_eq!(joined(&["x", "--note", "-h", "-5"]), ["x", "--note", "-h", "-5"]);
        assert_eq!(joined(&["x", "--low=1", "-5"]), ["x", "--low=1", "-5"]);
    }
}
