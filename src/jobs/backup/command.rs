//! `backup`: the whole book in one file.

use super::answer::backed_up;
use super::text::backup_text;
use crate::book::{Lacking, back_up, lacking, read_backup};
use crate::terminal::json::document;
use crate::terminal::output::{Output, blaming};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::units::shown_path;
use std::fs::File;
use std::path::{Path, PathBuf};

/// Write the whole book into one file, with digests
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook backup bench.tar")]
#[command(after_long_help = "\
The file is a tar archive, which other programs open too. It holds every file of the book, byte for \
byte, and a SHA-256 digest of each. `restore --from` makes the book again, and refuses a file that \
was damaged. Keep it on a different disk from the book.

A backup that swellbook wrote is replaced. Any other file, a backup of another book or of a copy, and \
a backup with more rows than the book has now, is replaced only with --replace.")]
pub(crate) struct Args {
    /// File to write: FILE.tar
    file: PathBuf,
    /// Replace the file even if swellbook did not make it, or if it is a backup with more rows or of
    /// another book
    #[arg(long)]
    replace: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    if args.file.as_os_str() == "-" {
        let message = "a backup is not text; name a file that ends in .tar".to_owned();
        return Err(CliError::Value { flag: "FILE", message });
    }
    let output = Output { path: &args.file, endings: &["tar"], replace: args.replace };
    output.check(session).map_err(blaming("FILE"))?;
    // `open_book` reports the book's notices, as for every command.
    let dir = session.open_book()?.dir().to_owned();
    let backup = back_up(&dir, session.today())?;
    if !args.replace {
        refuse_loss(&args.file, &backup.bytes, session)?;
    }
    output.save(session, &backup.bytes).map_err(blaming("FILE"))?;
    let restore = format!("swellbook restore --from {} DIR", quoted(&args.file.to_string_lossy()));
    let done = backed_up(&backup, shown_path(&args.file), restore);
    let text = backup_text(&done);
    session.keeps(&text);
    session.say(&if args.json { document(&done) } else { text })?;
    if is_inside(&session.folder().join(&args.file), &dir) {
        session.tell("note: this is the folder of the book itself; copy the file to another disk");
    }
    Ok(())
}

/// Refuses to replace a backup that has what the book lacks.
fn refuse_loss(file: &Path, backup: &[u8], session: &Session<'_>) -> Result<(), CliError> {
    let path = session.folder().join(file);
    if !path.is_file() {
        return Ok(());
    }
    let there = File::open(&path).ok().and_then(|there| read_backup(there, file).ok());
    let Some(lacking) = there.and_then(|there| lacking(&there, backup)) else { return Ok(()) };
    let file = shown_path(file);
    let message = match lacking {
        Lacking::Rows { file: name, then, now } => format!(
            "'{file}' is a backup with more rows: {name} has {then} lines there and {now} in the \
             book; find out first what is missing (swellbook audit), choose another file, or \
             replace it with --replace"
        ),
        Lacking::Changes => format!(
            "'{file}' is a backup of another book, or of a copy of this one that was changed by \
             itself; choose another file, or replace it with --replace"
        ),
    };
    Err(CliError::Value { flag: "FILE", message })
}

fn is_inside(file: &Path, dir: &Path) -> bool {
    let place = file.canonicalize();
    place.is_ok_and(|place| dir.canonicalize().is_ok_and(|dir| place.starts_with(dir)))
}
