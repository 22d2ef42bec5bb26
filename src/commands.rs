//! The whole command line: parsing, dispatch, and what errors print.

mod asked;
mod line;
mod meant;
mod pages;
#[cfg(test)]
mod questions_tests;
#[cfg(test)]
mod records_tests;
mod usage;

use self::pages::{ROUTES, WAYS};
use self::usage::usage_text;
use crate::jobs::start_and_tour::command_tour;
use crate::jobs::{
    audit, backup, beliefs, bench, chart, completions, correct, export, fit, gauge, import, init,
    man, midway, next, plan, pool, predict, record, report, restore, show, start_and_tour, strike,
    undo,
};
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, Streams, Surroundings};
use crate::units::printable;
use clap::builder::styling::AnsiColor;
use clap::error::ErrorKind;
use clap::{CommandFactory, Parser, Subcommand};
use std::ffi::OsString;
use std::path::PathBuf;

const GLOBAL: &str = "Global options";

/// Record trial sewings, and predict the swell of a book before you sew it.
#[derive(Debug, Parser)]
#[command(name = "swellbook", version)]
#[command(before_long_help = "\
Examples:
  swellbook
  swellbook record trial --help

Without a command it shows where the book is, what it holds and what to do next.")]
#[command(after_long_help = "\
Exit codes:
  0 done
  1 failed
  2 the command line is not understood
  3 the data are wrong
  4 not enough data for the question
  5 the book is in use
  6 the book is damaged
  7 done and saved, but the result could not be written: do not repeat the command

Results go to standard output, messages and prompts to standard error.")]
pub(crate) struct Arguments {
    /// Folder of the book [default: $SWELLBOOK, else the nearest folder with a book.toml]
    #[arg(long, global = true, value_name = "DIR", help_heading = GLOBAL)]
    pub book: Option<PathBuf>,
    /// Never prompt; fail and name the missing option
    #[arg(long, global = true, help_heading = GLOBAL)]
    pub no_input: bool,
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// What can be done.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Tour(command_tour::Args),
    Init(init::command::Args),
    Record(Box<record::command::Args>),
    Import(import::command::Args),
    Show(show::command::Args),
    Strike(strike::command::Args),
    Correct(correct::command::Args),
    Restore(restore::command::Args),
    Undo(undo::command::Args),
    Audit(audit::command::Args),
    Gauge(gauge::command::Args),
    Fit(fit::command::Args),
    Predict(Box<predict::command::Args>),
    Plan(Box<plan::command::Args>),
    Midway(Box<midway::command::Args>),
    Next(Box<next::command::Args>),
    Beliefs(beliefs::command::Args),
    Pool(pool::command::Args),
    Chart(Box<chart::command::Args>),
    Report(Box<report::command::Args>),
    Bench(bench::command::Args),
    Export(export::command::Args),
    Backup(backup::command::Args),
    Completions(completions::command::Args),
    Man(man::command::Args),
}

type Ended = Result<ExitStatus, CliError>;

impl Arguments {
    /// Runs the command; without one, shows the state of the book and what to do next.
    pub fn run(self, streams: Streams<'_>, surroundings: Surroundings) -> Ended {
        let mut session = Session::new(streams, surroundings, self.book, self.no_input)?;
        let outcome = match self.command {
            Some(command) => command.run(&mut session),
            None => start_and_tour::command::run(&mut session).map(|()| ExitStatus::Done),
        };
        session.settled(outcome)
    }
}

impl Command {
    /// Only `audit` ends with another exit code than 0 unless it fails.
    fn run(self, session: &mut Session<'_>) -> Ended {
        match self {
            Self::Audit(args) => return audit::command::run(args, session),
            Self::Init(args) => init::command::run(args, session),
            Self::Record(args) => record::command::run(*args, session),
            Self::Import(args) => import::command::run(args, session),
            Self::Show(args) => show::command::run(args, session),
            Self::Strike(args) => strike::command::run(args, session),
            Self::Correct(args) => correct::command::run(args, session),
            Self::Restore(args) => restore::command::run(args, session),
            Self::Undo(args) => undo::command::run(args, session),
            Self::Gauge(args) => gauge::command::run(args, session),
            Self::Fit(args) => fit::command::run(args, session),
            Self::Predict(args) => predict::command::run(*args, session),
            Self::Plan(args) => plan::command::run(*args, session),
            Self::Midway(args) => midway::command::run(*args, session),
            Self::Next(args) => next::command::run(*args, session),
            Self::Beliefs(args) => beliefs::command::run(args, session),
            Self::Pool(args) => pool::command::run(args, session),
            Self::Chart(args) => chart::command::run(*args, session),
            Self::Export(args) => export::command::run(args, session),
            Self::Backup(args) => backup::command::run(args, session),
            Self::Completions(args) => completions::command::run(&args, command_line(), session),
            Self::Man(args) => man::command::run(&args, command_line(), session),
            Self::Report(args) => report::command::run(*args, session),
            Self::Bench(args) => bench::command::run(args, ROUTES, WAYS, session),
            Self::Tour(args) => command_tour::run(args, run_words, session),
        }?;
        Ok(ExitStatus::Done)
    }
}

/// Runs another command from within a command. `words` leave out the program's name.
fn run_words(words: &[&str], streams: Streams<'_>, surroundings: Surroundings) -> Outcome {
    let line: Vec<OsString> =
        std::iter::once("swellbook").chain(words.iter().copied()).map(OsString::from).collect();
    let refused = |error| CliError::Usage(usage_text(&error, command_line(), &line));
    Arguments::try_parse_from(&line).map_err(refused)?.run(streams, surroundings).map(drop)
}

/// The clap definition of the whole command line; its reference page is made from it.
pub fn command_line() -> clap::Command {
    Arguments::command()
}

/// Runs the program with its command line (the program's name first) and returns its exit code.
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    mut streams: Streams<'_>,
    surroundings: Surroundings,
) -> ExitStatus {
    let args = negative_values_joined(args);
    let outcome = answered(&args, streams.lent(), &surroundings);
    outcome.unwrap_or_else(|error| refuse(&error, streams.err))
}

/// Runs a command line, after asking for what it lacks. An answer that the command refuses is asked
/// for again, so that the others are not lost.
fn answered(args: &[OsString], mut streams: Streams<'_>, surroundings: &Surroundings) -> Ended {
    let (mut line, mut again) = (args.to_vec(), Vec::new());
    loop {
        let completed = asked::completed(&line, &again, streams.lent(), surroundings)?;
        let whole = completed.as_ref().unwrap_or(&line);
        let outcome = match Arguments::try_parse_from(whole) {
            Ok(arguments) => arguments.run(streams.lent(), surroundings.clone()),
            Err(error) => answer_parser(&error, whole, streams.out).map(|()| ExitStatus::Done),
        };
        let Some(whole) = completed else { return outcome };
        again = outcome
            .as_ref()
            .err()
            .map(|error| asked::refused(error, &whole, args.len()))
            .unwrap_or_default();
        match &outcome {
            Err(error) if !again.is_empty() => drop(refuse(error, streams.err)),
            _ => {
                // As for all messages, a failure to write to standard error is ignored.
                let _ = writeln!(streams.err, "{}", printable(&asked::as_typed(&whole)));
                return outcome;
            }
        }
        let is_refused = |word: &OsString| again.iter().any(|refused| word == refused.as_str());
        let (typed, answers) = whole.split_at(args.len());
        let kept = answers.iter().filter(|word| !is_refused(word));
        line = typed.iter().chain(kept).cloned().collect();
    }
}

/// Joins a value such as `-0.1mm` to the flag before it. Otherwise clap takes it for a flag, and
/// nothing checks the value itself.
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

/// Handles a clap error: help and version are results on standard output, anything else is a usage
/// error in our own words.
fn answer_parser(error: &clap::Error, args: &[OsString], out: &mut dyn std::io::Write) -> Outcome {
    if !matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
        return Err(CliError::Usage(usage_text(error, command_line(), args)));
    }
    let text = error.render().ansi().to_string();
    let text = printable(&text);
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(CliError::Output)
}

/// Prints an error to standard error and returns its exit code.
///
/// A closed pipe means that the reader of the results left. The command itself is done, so the code
/// is 0. Nothing is printed then, unless the book was changed: the user must learn of that.
fn refuse(error: &CliError, err: &mut dyn std::io::Write) -> ExitStatus {
    let red = AnsiColor::Red.on_default().bold();
    let (text, status) = match error {
        CliError::Kept { kept, .. } if error.is_closed_pipe() => {
            (format!("note: done and saved, but nobody read the result: {kept}"), ExitStatus::Done)
        }
        _ if error.is_closed_pipe() => return ExitStatus::Done,
        _ => (format!("{red}error:{red:#} {error}"), error.status()),
    };
    // If standard error fails too, there is nowhere left to report it.
    let _ = writeln!(err, "{}", printable(&text));
    status
}

#[cfg(test)]
mod tests {
    use super::questions_tests::run_in;
    use super::records_tests::{files, outcome, surroundings};
    use super::*;

    #[test]
    fn it_runs_without_a_process() {
        let dir = tempfile::tempdir().unwrap();
        assert_eq!(run_in(dir.path(), &["init", ".", "--no-input"], b"").0, ExitStatus::Done);
        let (status, text) = run_in(dir.path(), &["record", "target", "limp"], b"12\n2\n10\n20\n");
        assert_eq!(status, ExitStatus::Done, "{text}");
        assert!(text.contains("recorded target limp: 12 to 20 %"), "{text}");
        assert!(text.contains("the low bound 12 % is not below the high bound 2 %"), "{text}");
    }

    /// Without the number, a second submission would be refused because of what the first one
    /// wrote: a name already taken, an entry already struck.
    #[test]
    fn whatever_command_a_form_runs_it_is_written_once_and_answered_alike() {
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path();
        run_in(folder, &["init", ".", "--no-input"], b"");
        let sheet = "trial,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,spine_mm,fore_edge_mm\n\
                     A1,laid,soft,0.15,silk,0.3,12,3,sewn,14.5,11.5\n";
        std::fs::write(folder.join("sheet.csv"), sheet).unwrap();
        let sewing = ["--paper=bond", "--thread=linen", "--sections=10", "--sheets=4"];
        let with = |words: &[&'static str]| [words, &sewing[..]].concat();
        let knocked = ["--state=knocked", "--spine=10.4,10.5", "--fore-edge=8.0,8.1"];
        for (number, (args, said)) in (0..).zip([
            (vec!["record", "paper", "bond", "--caliper=0.1mm"], "recorded paper bond"),
            (vec!["record", "thread", "linen", "--laid=0.5mm"], "recorded thread linen"),
            (vec!["record", "target", "limp", "2..10"], "recorded target limp"),
            (with(&["record", "trial", "T1"]), "recorded trial T1"),
            (
                [&["record", "readings", "T1"], &knocked[..]].concat(),
                "recorded 2 readings of T1, knocked down",
            ),
            (
                vec!["import", "sheet.csv"],
                "recorded paper laid, thread silk, trial A1, 1 reading of A1, as sewn",
            ),
            (with(&["predict", "--keep=B1"]), "kept forecast B1"),
            (vec!["strike", "trial", "A1", "--reason=a slip"], "struck trial A1"),
            (vec!["restore", "trial", "A1"], "brought back trial A1, 1 reading of A1, as sewn"),
            (vec!["correct", "trial", "T1", "--boned"], "corrected trial T1: boned no → yes"),
            (vec!["undo"], "undid: corrected trial T1: boned no → yes"),
            (vec!["undo", "--redo"], "redid: corrected trial T1: boned no → yes"),
        ]) {
            let sent = || outcome(folder, &args, Some(number));
            sent().unwrap();
            let once = files(folder);
            match sent() {
                Err(CliError::SentBefore { said: then }) => assert_eq!(then, said),
                other => panic!("{args:?}: {other:?}"),
            }
            assert_eq!(files(folder), once, "{args:?}: something was written again");
            let rows = std::fs::read_to_string(folder.join("changes.csv")).unwrap();
            assert_eq!(rows.lines().count() as u128, number + 2, "{rows}");
        }
    }

    #[test]
    fn what_is_shown_fits_the_window() {
        let dir = tempfile::tempdir().unwrap();
        let long = "a paper of a name in seventy letters, made by hand in a small mill";
        let trial = ["record", "trial", "T1", "--thread=flax 25/3", "--sections=10", "--sheets=4"];
        let sewn = ["--paper", long, "--on=2", "--ends=2", "--note", long];
        let readings = ["record", "readings", "T1", "--spine=10.4,10.5", "--fore-edge=8.2,8.1"];
        for args in [
            &["init", "."][..],
            &["record", "paper", long, "--caliper=0.1mm", "--grammage=80", "--note", long],
            &["record", "thread", "flax 25/3", "--count=lea 25/3", "--note", long],
            &[trial, sewn].concat(),
            &[&readings[..], &["--state=knocked+pressed", "--note", long]].concat(),
        ] {
            let (status, text) = run_in(dir.path(), &[args, &["--no-input"]].concat(), b"");
            assert_eq!(status, ExitStatus::Done, "{text}");
        }
        for (shown, width) in ["", "papers", "threads", "targets", "trials", "T1", long]
            .into_iter()
            .flat_map(|shown| [(shown, 80), (shown, 60)])
        {
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
            let surroundings = Surroundings { width, ..surroundings(dir.path()) };
            let words: Vec<&str> =
                ["swellbook", "show"].into_iter().chain(shown.split(' ')).collect();
            let words = words.into_iter().filter(|word| !word.is_empty()).map(OsString::from);
            assert_eq!(run(words, streams, surroundings), ExitStatus::Done);
            let text = String::from_utf8(out).unwrap();
            let widest = text.lines().map(|line| line.chars().count()).max();
            assert!(widest <= Some(width), "{shown} at {width}:\n{text}");
        }
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
