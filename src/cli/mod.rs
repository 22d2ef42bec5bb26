//! The command line: arguments and prompts, and a call into the layers to the left.
//!
//! One file per command. A new command is a file with its `Args` and a `run(args, session)`, and a
//! variant of `Command` in command.rs.

mod audit;
mod command;
mod error;
mod exit;
mod fit;
mod import;
mod init;
mod line;
mod planned;
mod predict;
mod prompt;
mod record;
mod session;
mod start;
mod strike;
mod suggest;
mod tour;
mod values;

use command::Arguments;
pub use error::CliError;
pub use exit::ExitStatus;
pub use session::{Session, Streams, Surroundings};

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
    let outcome = match Arguments::try_parse_from(args) {
        Ok(arguments) => {
            let streams = Streams { input, out, err: &mut *err };
            arguments.run(streams, surroundings)
        }
        Err(error) => answer_parser(&error, out, err),
    };
    outcome.unwrap_or_else(|error| report(&error, err))
}

/// What the parser has to say: help and version are results, anything else is a usage error.
fn answer_parser(
    error: &clap::Error,
    out: &mut dyn std::io::Write,
    err: &mut dyn std::io::Write,
) -> Outcome {
    let text = error.render().ansi().to_string();
    let wanted = matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion);
    if wanted {
        out.write_all(text.as_bytes())?;
        out.flush()?;
        return Ok(ExitStatus::Done);
    }
    err.write_all(text.as_bytes())?;
    Ok(ExitStatus::Usage)
}

/// The message of an error, on standard error, and its exit code.
fn report(error: &CliError, err: &mut dyn std::io::Write) -> ExitStatus {
    if error.is_closed_pipe() {
        return ExitStatus::Done;
    }
    let red = AnsiColor::Red.on_default().bold();
    // Nothing is left to say it with when standard error fails too.
    let _ = writeln!(err, "{red}error:{red:#} {error}");
    error.status()
}
