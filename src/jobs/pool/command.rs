//! `pool`: turns summaries of many benches into beliefs for a new one.

use super::answer::{NoPool, PoolAnswer, Summary, pooled};
use super::text::{ONLY_SHOWN, pool_text, use_it, wrote};
use crate::book::pool_text as file_text;
use crate::jobs::export::answer_summary::read_summary;
use crate::terminal::exit::ExitStatus;
use crate::terminal::input::bytes_of;
use crate::terminal::json::document;
use crate::terminal::output::Output;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::units::shown_path;
use std::path::{Path, PathBuf};

/// The most unusable files named.
const NAMED: usize = 50;

/// Pool what many benches learnt, as beliefs that a new book can start from
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook pool bench.json
  swellbook pool bench.json --out pool.toml

Each FILE is a summary that a bench wrote with `swellbook export --summary FILE`. The pool says what \
a new bench should believe before its first trial, how much benches differ, and which of them do not \
fit. It needs no book.")]
#[command(after_long_help = "\
The order of the files does not matter. The same summary counts once, whatever its file is called. If \
a file cannot be used, nothing is pooled, and every such file is named.

With few benches the pool leans on common practice; the more benches, the less. A bench far from all \
others counts for less. Many files from one binder look like many benches, so ask only benches \
that you know. How it is worked out: docs/model.md, \"Many benches\".")]
pub(crate) struct Args {
    /// Summaries, one from each bench; of a folder, every .json file in it; - reads one from
    /// standard input
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Write the pool to this file (.toml); - is standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Replace a file that swellbook did not write
    #[arg(long, requires = "out")]
    replace: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let path = args.out.as_deref();
    let is_file_alone = path == Some(Path::new("-"));
    if is_file_alone && args.json {
        let message = "--json and --out - both print to standard output; give one of them";
        return Err(CliError::Usage(message.to_owned()));
    }
    let output = path.map(|path| Output { path, endings: &["toml"], replace: args.replace });
    if let Some(output) = &output {
        output.check(session)?;
    }
    let summaries = read(&args.files, session)?;
    let answer = pooled(&summaries, &session.today().to_string())?;
    if !is_file_alone {
        let text = if args.json { document(&answer) } else { pool_text(&answer, session.width()) };
        session.say(&text)?;
    }
    match output {
        Some(output) => write(&output, &answer, session)?,
        None if !args.json => session.tell(ONLY_SHOWN),
        None => {}
    }
    Ok(())
}

fn write(
    output: &Output<'_>,
    answer: &PoolAnswer,
    session: &mut Session<'_>,
) -> Result<(), CliError> {
    output.save(session, file_text(answer.file()).as_bytes())?;
    if output.path != Path::new("-") {
        let name = shown_path(output.path);
        session.tell(&format!("{}: {name}", wrote(answer)));
        session.tell(&use_it(&quoted(&name)));
    }
    Ok(())
}

/// Every summary, or an error that lists every unusable file. It is an error of data if a file was
/// read and is not a summary.
fn read(files: &[PathBuf], session: &mut Session<'_>) -> Result<Vec<Summary>, CliError> {
    let (mut summaries, mut faults) = (Vec::new(), Vec::new());
    let mut status = ExitStatus::Failed;
    for path in in_folders(files, session)? {
        match summary(&path, session) {
            Ok(summary) => summaries.push(summary),
            Err(error) => {
                if error.status() != ExitStatus::Failed {
                    status = ExitStatus::Data;
                }
                faults.push(error.to_string());
            }
        }
    }
    if faults.is_empty() {
        return Ok(summaries);
    }
    let more = faults.len().saturating_sub(NAMED);
    faults.truncate(NAMED);
    if more > 0 {
        faults.push(format!("and {more} more that `pool` refuses"));
    }
    faults.push("nothing was pooled; leave these files out, or ask for new ones".to_owned());
    Err(CliError::Job { message: faults.join("\n"), status })
}

/// The files, with each folder replaced by its .json files, sorted by name.
fn in_folders(files: &[PathBuf], session: &Session<'_>) -> Result<Vec<PathBuf>, CliError> {
    let mut all = Vec::new();
    for path in files {
        let place = session.folder().join(path);
        if !place.is_dir() {
            all.push(path.clone());
            continue;
        }
        let found = summaries_in(&place)
            .map_err(|error| CliError::File { path: path.clone(), message: error.to_string() })?;
        if found.is_empty() {
            let name = shown_path(path);
            let message = format!(
                "{name}: no file in this folder ends in .json; a bench writes one with swellbook \
                 export --summary FILE.json"
            );
            return Err(CliError::Job { message, status: ExitStatus::Data });
        }
        all.extend(found.into_iter().map(|name| path.join(name)));
    }
    Ok(all)
}

fn summaries_in(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut names = Vec::new();
    for entry in folder.read_dir()? {
        names.push(PathBuf::from(entry?.file_name()));
    }
    names.retain(|name| name.extension().is_some_and(|ending| ending == "json"));
    names.sort_unstable();
    Ok(names)
}

fn summary(path: &Path, session: &mut Session<'_>) -> Result<Summary, CliError> {
    let (bytes, name) = bytes_of(path, session)?;
    let (file, learnt) = read_summary(&bytes, &name)?;
    Ok(Summary { name, file, learnt })
}

impl From<NoPool> for CliError {
    fn from(error: NoPool) -> Self {
        let status = match &error {
            NoPool::Impossible { .. } => ExitStatus::Data,
            NoPool::Sum(_) | NoPool::Model(_) => ExitStatus::Failed,
        };
        Self::Job { message: error.to_string(), status }
    }
}
