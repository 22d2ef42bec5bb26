//! A book of very many trials is shown about as fast as it is read.

use crate::support::folder::Folder;
use std::fmt::Write;
use std::time::{Duration, Instant};
use swellbook::book::Book;

/// Many readings of one trial, then one of each other trial. Searching all readings for each trial
/// would pass those many every time.
fn large() -> Folder {
    let folder = Folder::with_trial();
    let (mut trials, mut readings) = (folder.read("trials.csv"), folder.read("readings.csv"));
    for place in 1..=30_000 {
        writeln!(readings, "T1,sewn,{place},11,8.3,,").expect("text");
    }
    for number in 2..=20_000 {
        let sewing = "block,bond 80,linen 25,10,4,1,0,no,0,,";
        writeln!(trials, "T{number},2026-02-01,{sewing}").expect("text");
        writeln!(readings, "T{number},sewn,1,11,8.3,,").expect("text");
    }
    folder.write("trials.csv", trials);
    folder.write("readings.csv", readings);
    folder
}

fn taken(work: impl Fn()) -> Duration {
    let once = || {
        let began = Instant::now();
        work();
        began.elapsed()
    };
    once().min(once())
}

#[test]
fn the_program_alone_takes_no_longer_than_reading_the_book_does() {
    let folder = large();
    let read = taken(|| drop(Book::open(folder.path()).expect("a book")));
    let shown = taken(|| assert!(folder.run(&[]).ends(0).out.contains("20000 trials")));
    // Three times leaves room for a busy machine; a search for each trial takes ten times and more.
    assert!(shown < 3 * read + Duration::from_millis(200), "{shown:?} after {read:?}");
}
