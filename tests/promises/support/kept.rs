//! What a book holds, in lines, for comparing it before and after something broke.
#![cfg(target_os = "linux")]

use std::path::Path;
use swellbook::book::{Book, reading_id};
use swellbook::trade::{Reading, Trial};

/// A line for each entry that counts and each that was struck, kind by kind, in the order of the
/// files. Fails if the book is not readable: it must be, whatever was broken.
#[track_caller]
pub fn kept(dir: &Path) -> Vec<String> {
    let book = Book::open(dir).unwrap_or_else(|error| panic!("the book cannot be read: {error}"));
    lines(&book)
}

pub fn lines(book: &Book) -> Vec<String> {
    let mut lines = Vec::new();
    let pool = book.config().pool.as_ref();
    lines.extend(pool.map(|pool| format!("starts from {} {}", pool.file, pool.sha256)));
    lines.extend(book.papers().iter().map(|paper| format!("paper {}", paper.name)));
    lines.extend(book.threads().iter().map(|thread| format!("thread {}", thread.name)));
    lines.extend(book.targets().iter().map(|target| format!("target {}", target.name)));
    lines.extend(book.trials().iter().map(trial));
    lines.extend(book.readings().iter().map(reading));
    lines
        .extend(book.struck().iter().map(|strike| format!("struck {} {}", strike.what, strike.id)));
    lines.extend(book.forecast_ids().iter().map(|id| format!("forecast {id}")));
    lines
}

fn trial(trial: &Trial) -> String {
    format!("trial {} of {}, {}, {:?}", trial.name, trial.paper, trial.thread, trial.date)
}

fn reading(reading: &Reading) -> String {
    let length = |edge: Option<swellbook::units::Millimetres>| {
        edge.map_or(String::new(), |length| format!(" {}", length.mm()))
    };
    let (spine, fore_edge) = (length(reading.spine()), length(reading.fore_edge()));
    format!("reading {}{spine}{fore_edge} {}", reading_id(reading), &*reading.note)
}
