//! `tour`: a demonstration book and the whole job on it.

use super::session::quoted;
use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::{Book, Config, init};
use crate::book::{SheetOptions, read_sheet};
use crate::decide::{Band, Bench, forecast, learn};
use crate::model::{Plan, Run};
use crate::show;
use crate::trade::{Sewing, State};
use std::path::{Path, PathBuf};

/// The invented bindery's trial sheet.
const SHEET: &str = include_str!("../../datasets/demonstration/trials.csv");
const SHEET_NAME: &str = "demonstration-sheet.csv";
const TITLE: &str = "Alder Quay Bindery (invented)";

/// Build a demonstration book of an invented bindery and do the whole job on it
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook tour
  swellbook tour demonstration")]
pub(crate) struct Args {
    /// The folder to make [default: swellbook-tour, or the next free number behind it]
    dir: Option<PathBuf>,
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let dir = args.dir.unwrap_or_else(|| free_folder(session.folder()));
    let word = quoted(&dir.to_string_lossy());
    let book = build(&session.folder().join(&dir), session, &word)?;
    let bench = Bench::of(&book)?;
    step(session, &format!("swellbook --book {word} fit"))?;
    let learnt = learn(&bench.observations, &bench.fit, &bench.nominal);
    session.say(&show::learnt_text(&learnt, book.config().unit, session.width()))?;
    predict(session, &book, &bench, &word)?;
    session.say(&format!(
        "\nWhat to try next, on this book or, after `swellbook init my-book`, on your own:\n  \
         swellbook --book {word} predict --paper 'Quay laid' --thread 'flax 18/3' \\\n      \
         --leaves 120 --sheets 3 --target rounded\n  \
         swellbook --book {word} fit --json\n  \
         swellbook --book {word} audit\n  \
         swellbook --help"
    ))?;
    Ok(ExitStatus::Done)
}

/// The first of `swellbook-tour`, `swellbook-tour-2` … that is not there.
fn free_folder(parent: &Path) -> PathBuf {
    let name = |number: u32| match number {
        1 => "swellbook-tour".to_owned(),
        _ => format!("swellbook-tour-{number}"),
    };
    (1..).map(name).find(|name| !parent.join(name).exists()).unwrap_or_default().into()
}

/// A command as a person would type it.
fn step(session: &mut Session<'_>, command: &str) -> Result<(), CliError> {
    session.say(&format!("\n$ {command}"))
}

fn build(dir: &Path, session: &mut Session<'_>, word: &str) -> Result<Book, CliError> {
    session.say(&format!(
        "A demonstration in the folder {word}. The bindery, its papers and every figure are invented."
    ))?;
    let config = Config { title: TITLE.to_owned(), ..Config::default() };
    step(session, &format!("swellbook init {word}"))?;
    let mut book = init(dir, &config)?;
    session.say(&format!("made a new book with {} starting targets", book.targets().len()))?;
    let path = dir.join(SHEET_NAME);
    std::fs::write(&path, SHEET).map_err(|error| CliError::File {
        path: path.clone(),
        message: format!("cannot be written: {error}"),
    })?;
    step(session, &format!("swellbook --book {word} import {word}/{SHEET_NAME}"))?;
    let sheet = read_sheet(SHEET.as_bytes(), SHEET_NAME, &SheetOptions::default())?;
    let plan = book.plan_import(&sheet)?;
    book.append(plan.entries.clone())?;
    let view = show::ImportView { sheet: SHEET_NAME, plan: &plan, dry_run: false };
    session.say(&show::import_text(&view, session.width()))?;
    Ok(book)
}

/// The prediction of a rounded and backed book from the first paper and thread of the sheet.
fn predict(
    session: &mut Session<'_>,
    book: &Book,
    bench: &Bench,
    word: &str,
) -> Result<(), CliError> {
    let target = book.targets().iter().find(|target| target.name.as_str() == "rounded-backed");
    let paper = book.papers().first().and_then(|paper| bench.paper(&paper.name));
    let thread = book.threads().first().and_then(|thread| bench.thread(&thread.name));
    let (Some(paper), Some(thread)) = (paper, thread) else {
        return Err(CliError::NotEnough("the demonstration sheet is empty".to_owned()));
    };
    step(
        session,
        &format!(
            "swellbook --book {word} predict --paper {} --thread {} --sections 24 --sheets 4 \
             --target rounded-backed",
            quoted(paper.name.as_str()),
            quoted(thread.name.as_str())
        ),
    )?;
    let sewing = Sewing::new(24, 4, 1, 0).map_err(|error| CliError::Usage(error.to_string()))?;
    let plan = Plan::new(vec![Run { paper, thread, sewing }], State::Knocked)?;
    let forecast = forecast(&bench.fit, &bench.nominal, plan, target.map(Band::from));
    session.say(&show::forecast_text(&forecast, book.config().unit, session.width()))
}
