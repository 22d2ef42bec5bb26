//! `tour`: makes a demonstration book and runs every step on it.

use crate::terminal::output::Output;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, Streams, Surroundings, quoted};
use crate::units::shown_whole;
use std::path::{Path, PathBuf};

/// The invented bindery's trial sheet.
const SHEET: &str = include_str!("../../../datasets/demonstration/trials.csv");
const SHEET_NAME: &str = "demonstration-sheet.csv";
const TITLE: &str = "Alder Quay Bindery (invented)";

/// Make the demonstration book of an invented bindery, and run every step on it
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook tour
  swellbook tour demonstration")]
pub(crate) struct Args {
    /// Folder to make [default: swellbook-tour, or that name with the next free number]
    dir: Option<PathBuf>,
}

/// The program itself, called with a command line for each step of the tour.
pub(crate) type Program = fn(&[&str], Streams<'_>, Surroundings) -> Outcome;

pub(crate) fn run(args: Args, program: Program, session: &mut Session<'_>) -> Outcome {
    let dir = args.dir.map_or_else(|| free_folder(session.folder()), as_folder);
    let place = session.folder().join(&dir);
    if place.exists() {
        let message = "already exists; name another folder".to_owned();
        return Err(CliError::File { path: dir, message });
    }
    let dir = dir.to_string_lossy().into_owned();
    let mut tour = Tour { session, program, dir: &dir, unread: None };
    tour.say(&format!(
        "A demonstration in the folder {}. The bindery, its papers and\n\
         every figure are invented.",
        shown_whole(&dir)
    ))?;
    tour.step(&["init", &dir, "--title", TITLE])?;
    let made = format!("made a demonstration in {}", shown_whole(&dir));
    tour.session.keeps(&format!("{made} (to undo: remove the folder)"));
    let sheet = format!("{dir}/{SHEET_NAME}");
    let sheet_file = Output { path: Path::new(&sheet), endings: &["csv"], replace: false };
    sheet_file.save(tour.session, SHEET.as_bytes())?;
    tour.book_step(&["import", &sheet])?;
    tour.book_step(&["fit"])?;
    tour.book_step(&PREDICT)?;
    tour.book_step(&PLAN)?;
    tour.book_step(&midway_words())?;
    for kind in ["knockdown", "factors", "agreement", "history", "residuals"] {
        tour.book_step(&["chart", kind, "--out", &format!("{dir}/{kind}.svg")])?;
    }
    tour.book_step(&plan_chart_words(&format!("{dir}/plan.svg")))?;
    tour.book_step(&swell_chart_words(&format!("{dir}/swell.svg")))?;
    tour.book_step(&report_words(&format!("{dir}/report.html")))?;
    tour.book_step(&card_words(&format!("{dir}/card.html")))?;
    tour.say(&format!("\n{}", what_next(&quoted(&dir))))?;
    tour.unread.map_or(Ok(()), Err)
}

/// Runs the steps to the end even if the reader of the output goes away, because the user also
/// asked for the folder.
struct Tour<'s, 'a> {
    session: &'s mut Session<'a>,
    program: Program,
    dir: &'s str,
    /// The error when the reader of the output went away.
    unread: Option<CliError>,
}

impl Tour<'_, '_> {
    fn say(&mut self, text: &str) -> Result<(), CliError> {
        let said = self.session.say(text);
        self.read_or_not(said)
    }

    /// Shows a command as a user would type it, and runs it.
    fn step(&mut self, words: &[&str]) -> Result<(), CliError> {
        self.say(&format!("\n$ {}", typed(words)))?;
        let (streams, surroundings) = self.session.lent();
        // A demonstration never prompts.
        let words = [&["--no-input"], words].concat();
        let done = (self.program)(&words, streams, surroundings);
        self.read_or_not(done)
    }

    fn book_step(&mut self, words: &[&str]) -> Result<(), CliError> {
        self.step(&[&["--book", self.dir], words].concat())
    }

    fn read_or_not(&mut self, done: Result<(), CliError>) -> Result<(), CliError> {
        match done {
            Err(error) if error.is_closed_pipe() => {
                self.unread = Some(error);
                Ok(())
            }
            other => other,
        }
    }
}

/// A rounded and backed book of the first paper and thread of the sheet.
const PREDICT: [&str; 11] = [
    "predict",
    "--paper",
    "Alder bond",
    "--thread",
    "flax 25/3",
    "--sections",
    "24",
    "--sheets",
    "4",
    "--target",
    "rounded-backed",
];

/// The same book with nothing chosen except its paper.
const PLAN: [&str; 11] = [
    "plan",
    "--paper",
    "Alder bond",
    "--leaves",
    "192",
    "--target",
    "rounded-backed",
    "--top",
    "5",
    "--from",
    "thread=flax 25/3,sheets=4",
];

/// The same book with its first eight sections sewn and measured.
fn midway_words() -> Vec<&'static str> {
    let mut words = PREDICT.to_vec();
    words[0] = "midway";
    words.extend(["--sewn", "8", "--spine", "9.60,9.66", "--fore-edge", "6.86,6.90"]);
    words
}

/// The choices of [`PLAN`] as a chart.
fn plan_chart_words(file: &str) -> Vec<&str> {
    [&["chart", "plan"], &PLAN[1..7], &["--out", file]].concat()
}

/// The paper of [`PREDICT`] with every thread.
fn swell_chart_words(file: &str) -> [&str; 8] {
    let [paper, target] = ["Alder bond", "rounded-backed"];
    ["chart", "swell", "--paper", paper, "--target", target, "--out", file]
}

fn report_words(out: &str) -> [&str; 5] {
    let book = "paper=Alder bond,leaves=192,target=rounded-backed";
    ["report", "--in-mind", book, "--out", out]
}

/// The bench card of the same book.
fn card_words(out: &str) -> Vec<&str> {
    let mut words = PREDICT.to_vec();
    words[0] = "report";
    words.extend(["--stations", "4", "--height", "210mm", "--out", out]);
    words
}

fn what_next(book: &str) -> String {
    format!(
        "What to try next, on this book or, after `swellbook init my-book`, on\nyour own:\n  \
         swellbook --book {book} predict --paper 'Quay laid' \\\n      \
         --thread 'flax 18/3' --leaves 120 --sheets 3 --target rounded\n  \
         swellbook --book {book} bench --open\n  \
         swellbook --book {book} fit --json\n  \
         swellbook --book {book} audit\n  \
         swellbook --help"
    )
}

/// The folder in a form that no command mistakes for an option or standard input.
fn as_folder(typed: PathBuf) -> PathBuf {
    let is_plain = !typed.to_string_lossy().starts_with('-');
    if is_plain { typed } else { Path::new(".").join(typed) }
}

/// The first of `swellbook-tour`, `swellbook-tour-2` … that does not exist.
fn free_folder(parent: &Path) -> PathBuf {
    let name = |number: u32| match number {
        1 => "swellbook-tour".to_owned(),
        _ => format!("swellbook-tour-{number}"),
    };
    (1..).map(name).find(|name| !parent.join(name).exists()).unwrap_or_default().into()
}

/// The command line, broken before each flag that would make a line too wide.
fn typed(words: &[&str]) -> String {
    const WIDEST: usize = 76;
    let mut lines = vec!["swellbook".to_owned()];
    for piece in pieces(words) {
        let last = lines.last().map_or(0, |line| line.chars().count());
        let breaks = piece.starts_with("--") && last + 1 + piece.chars().count() > WIDEST;
        match lines.last_mut() {
            Some(line) if !breaks => {
                line.push(' ');
                line.push_str(&piece);
            }
            _ => lines.push(format!("    {piece}")),
        }
    }
    lines.join(" \\\n")
}

/// A word as it would be typed; one too long for a folder's name is cut.
fn typed_word(word: &str) -> String {
    const LONGEST: usize = 4096;
    if word.len() > LONGEST { shown_whole(word) } else { quoted(word) }
}

/// The words, with each flag joined to its value.
fn pieces(words: &[&str]) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let mut open = false;
    for word in words {
        let flag = word.starts_with("--");
        match pieces.last_mut() {
            Some(last) if open && !flag => {
                last.push(' ');
                last.push_str(&typed_word(word));
            }
            _ => pieces.push(typed_word(word)),
        }
        open = flag;
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_command_line_is_broken_before_a_flag() {
        for words in [PREDICT, PLAN] {
            let text = typed(&[&["--book", "swellbook-tour"], &words[..]].concat());
            assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
            assert!(text.lines().skip(1).all(|line| line.trim_start().starts_with("--")), "{text}");
        }
    }
}
