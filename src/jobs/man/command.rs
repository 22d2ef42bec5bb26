//! `man`: prints or writes manual pages.

use super::text::{Page, pages};
use crate::book::column_tables;
use crate::terminal::number::plural;
use crate::terminal::output::Output;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::suggest::closest;
use crate::units::{shown, shown_path};
use clap::Command;
use std::path::{Path, PathBuf};

/// Print the manual page of a command, or write all of them
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook man predict
  swellbook man record trial
  swellbook man --out man-pages

`swellbook man predict | man -l -` shows a page as `man` does.")]
#[command(after_long_help = "\
The pages have the same text as --help. `man swellbook` finds them once they are in a folder man1 of a \
folder that `manpath` lists. A package for Linux installs them there.")]
pub(crate) struct Args {
    /// The command, such as 'predict' or 'record trial' [default: the program as a whole]
    command: Vec<String>,
    /// Folder to write every page to; created if it does not exist
    #[arg(long, value_name = "DIR", conflicts_with = "command")]
    out: Option<PathBuf>,
    /// Replace the file even if swellbook did not make it
    #[arg(long, requires = "out", conflicts_with = "command")]
    replace: bool,
}

pub(crate) fn run(args: &Args, program: Command, session: &mut Session<'_>) -> Outcome {
    let files: Vec<&str> = column_tables().iter().map(|table| table.0).collect();
    let pages =
        pages(program, &files).map_err(|why| CliError::Output(std::io::Error::other(why)))?;
    match &args.out {
        Some(dir) => write_all(dir, args.replace, &pages, session)?,
        None => session.put(page_of(&pages, &args.command)?.roff.as_bytes())?,
    }
    Ok(())
}

fn page_of<'p>(pages: &'p [Page], words: &[String]) -> Result<&'p Page, CliError> {
    let typed = words.join(" ");
    let found = pages.iter().find(|page| page.words == typed);
    found.ok_or_else(|| {
        let names: Vec<&str> = pages.iter().map(|page| page.words.as_str()).collect();
        let near = closest(&typed, &names).map(|near| format!("did you mean '{near}'?"));
        let advice = near.unwrap_or_else(|| "`swellbook --help` lists the commands".to_owned());
        CliError::Usage(format!("swellbook has no command '{}'; {advice}", shown(&typed)))
    })
}

/// Writes every page to a folder. Writes none if any existing file must not be replaced.
fn write_all(
    dir: &Path,
    replace: bool,
    pages: &[Page],
    session: &mut Session<'_>,
) -> Result<(), CliError> {
    std::fs::create_dir_all(session.folder().join(dir)).map_err(|why| {
        let message = format!("the folder cannot be made: {why}");
        CliError::File { path: dir.to_owned(), message }
    })?;
    let files: Vec<PathBuf> = pages.iter().map(|page| dir.join(page.file())).collect();
    let outputs = files.iter().map(|path| Output { path, endings: &["1"], replace });
    outputs.clone().try_for_each(|output| output.check(session))?;
    for (output, page) in outputs.zip(pages) {
        output.save(session, page.roff.as_bytes())?;
    }
    let count = plural(pages.len(), "manual page");
    session.says_kept(&format!("wrote {count} to {}", shown_path(dir)))
}
