//! `init`: a new book.

use crate::book::{Config, init, title};
use crate::terminal::exit::ExitStatus;
use crate::terminal::prompt::{Words, by_flag};
use crate::terminal::refusal::Outcome;
use crate::terminal::session::{Session, book_option};
use crate::terminal::values;
use crate::trade::ranges;
use crate::units::{LengthUnit, shown_path};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Make a new book in a folder
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook init bench-book --title 'Demonstration bindery'")]
pub(crate) struct Args {
    /// Folder of the book; created if it does not exist
    dir: PathBuf,
    /// Title of the book [default: the name of the folder]
    #[arg(long)]
    title: Option<String>,
    /// Unit of numbers typed without one: mm, um, in or thou
    #[arg(long, default_value = "mm", value_parser = Words(&["mm", "um", "in", "thou"]))]
    unit: String,
    /// Smallest step of the gauge
    #[arg(long, default_value = "0.01mm")]
    resolution: String,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let dir = session.folder().join(&args.dir);
    let unit: LengthUnit = by_flag("--unit", &args.unit, values::parsed)?;
    let resolution = by_flag("--resolution", &args.resolution, |text| {
        values::length(text, unit, ranges::RESOLUTION)
    })?;
    let title = match &args.title {
        Some(text) => by_flag("--title", text, title)?,
        None => folder_name(&dir),
    };
    let config = Config { title, unit, resolution, ..Config::default() };
    let before = names_in(&dir);
    let book = init(&dir, &config)?;
    let targets = book.targets().len();
    let shown = shown_path(&args.dir);
    session.says_kept(&format!(
        "made a new book in {shown} with {targets} starting targets (to undo: {})",
        undo(&before, &names_in(&dir))
    ))?;
    session.tell(&format!("next: swellbook {} record paper", book_option(&args.dir)));
    Ok(ExitStatus::Done)
}

/// What a folder holds; nothing where it is not there.
fn names_in(dir: &Path) -> BTreeSet<String> {
    let entries = std::fs::read_dir(dir).into_iter().flatten().flatten();
    entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect()
}

/// How to take the book away again, and nothing that was there before it.
fn undo(before: &BTreeSet<String>, after: &BTreeSet<String>) -> String {
    if before.is_empty() {
        return "remove the folder".to_owned();
    }
    let made: Vec<&str> = after.difference(before).map(String::as_str).collect();
    format!("remove {} from it and leave what was there before", made.join(", "))
}

/// The last part of a folder's path, whatever way it was written, as far as it can be a title.
fn folder_name(dir: &Path) -> String {
    let mut names = dir.components().filter_map(|part| match part {
        std::path::Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
        _ => None,
    });
    let name = names.next_back().and_then(|name| title(name.trim()).ok());
    name.filter(|name| !name.is_empty()).unwrap_or_else(|| "bench book".to_owned())
}
