//! `init`: makes a new book.

use super::text::{made_line, start_line, threads_line};
use crate::book::{Config, init, init_with_threads, title};
use crate::jobs::beliefs::command::offered;
use crate::terminal::prompt::{Words, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, book_option, quoted};
use crate::terminal::values;
use crate::trade::ranges;
use crate::units::{LengthUnit, shown_path};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Make a new book in a folder
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook init bench-book --title 'Demonstration bindery'
  swellbook init inch-book --unit in --with-threads
  swellbook init next-book --beliefs pool.toml")]
pub(crate) struct Args {
    /// Folder of the book; created if it does not exist
    dir: PathBuf,
    /// Title of the book [default: the name of the folder]
    #[arg(long)]
    title: Option<String>,
    /// Unit of numbers typed without one: mm, um, in or thou
    #[arg(long, default_value = "mm", value_parser = Words(&["mm", "um", "in", "thou"]))]
    unit: String,
    /// Smallest step of the gauge [default: 0.01mm; 0.0005in in a book in inches]
    #[arg(long, value_name = "LENGTH")]
    resolution: Option<String>,
    /// Add common linen threads: 12/3, 16/2, 18/3, 18/4, 25/3, 30/3, 35/3 and 40/3
    #[arg(long)]
    with_threads: bool,
    /// Start from this pool of what many benches learnt [default: common practice]; - reads
    /// standard input
    #[arg(long, value_name = "FILE")]
    beliefs: Option<PathBuf>,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let dir = session.folder().join(&args.dir);
    let unit: LengthUnit = by_flag("--unit", &args.unit, str::parse)?;
    let step = args.resolution.as_deref().unwrap_or(usual_step(unit));
    let resolution =
        by_flag("--resolution", step, |text| values::length(text, unit, ranges::RESOLUTION))?;
    let title = match &args.title {
        Some(text) => by_flag("--title", text, title)?,
        None => folder_name(&dir),
    };
    let pool = args.beliefs.as_deref().map(|pool| offered(pool, session)).transpose()?.flatten();
    let config = Config { title, unit, resolution, pool, ..Config::default() };
    let before = names_in(&dir);
    let with_threads = args.with_threads || asked_for_threads(session, &before)?;
    let book = if with_threads { init_with_threads } else { init }(&dir, &config)?;
    let undo = undo(&before, &names_in(&dir));
    session.says_kept(&made_line(&shown_path(&args.dir), &book, &undo))?;
    let in_book = book_option(&args.dir);
    if book.config().pool.is_some() {
        session.tell(&start_line(book.config(), &format!("swellbook {in_book} beliefs")));
    }
    if let Some(first) = book.threads().first() {
        let id = quoted(first.name.as_str());
        session.tell(&threads_line(&format!(
            "swellbook {in_book} strike thread {id} --reason \"not in stock\""
        )));
    }
    session.tell(&format!("next: swellbook {in_book} record paper"));
    Ok(())
}

/// The smallest step of most gauges that show this unit (common practice, no source).
fn usual_step(unit: LengthUnit) -> &'static str {
    if unit.is_of_inches() { "0.0005in" } else { "0.01mm" }
}

/// Asks whether to add the common threads; does not ask if the folder already holds a book.
fn asked_for_threads(
    session: &mut Session<'_>,
    before: &BTreeSet<String>,
) -> Result<bool, CliError> {
    if !session.can_ask() || before.contains("book.toml") {
        return Ok(false);
    }
    let question = "add the common linen threads, 12/3 to 40/3: yes or no";
    session.agrees("--no-input", question, "no")
}

/// The names in a folder; empty if it does not exist.
fn names_in(dir: &Path) -> BTreeSet<String> {
    let entries = std::fs::read_dir(dir).into_iter().flatten().flatten();
    entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect()
}

/// How to remove the book without removing anything that was in the folder before.
fn undo(before: &BTreeSet<String>, after: &BTreeSet<String>) -> String {
    if before.is_empty() {
        return "remove the folder".to_owned();
    }
    let made: Vec<&str> = after.difference(before).map(String::as_str).collect();
    format!("remove {} from it and leave what was there before", made.join(", "))
}

/// The last name in the folder's path as a title; "bench book" if it is not a valid title.
fn folder_name(dir: &Path) -> String {
    let mut names = dir.components().filter_map(|part| match part {
        std::path::Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
        _ => None,
    });
    let name = names.next_back().and_then(|name| title(name.trim()).ok());
    name.filter(|name| !name.is_empty()).unwrap_or_else(|| "bench book".to_owned())
}
