//! The command printed for undoing a command undoes all of it.
#![cfg(unix)]

use crate::support::folder::{Folder, trial};
use swellbook::book::{Book, Entries};

const HEADER: &str = "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,\
                      place,spine_mm,fore_edge_mm\n";

/// The names of a paper and a thread.
#[derive(Clone, Copy)]
struct Stock {
    paper: &'static str,
    thread: &'static str,
}

const STOCK: Stock = Stock { paper: "bond 80", thread: "linen 25" };

/// A row of a sheet.
fn row(trial: &str, Stock { paper, thread }: Stock, place: usize) -> String {
    let stock = match paper {
        "bond 80" => format!("{paper},hard,0.1,{thread},"),
        _ => format!("{paper},soft,0.12,{thread},0.5"),
    };
    format!("{trial},2026-03-01,{stock},10,4,sewn,{place},1{place}.5,8.{place}\n")
}

fn counting(folder: &Folder) -> Entries {
    Book::open(folder.path()).expect("a book").entries().clone()
}

/// Runs the command after `to undo: `, as a person would paste it.
fn undo(folder: &Folder, said: &str) {
    let (_, command) = said.trim_end().rsplit_once("(to undo: ").expect("a command");
    folder.paste(command.strip_suffix(')').expect("its end"));
}

/// A book whose trial was struck once and recorded again.
fn book() -> Folder {
    let folder = Folder::with_trial();
    let sewn = ["record", "readings", "T1", "--state", "sewn", "--spine", "11.0"];
    folder.run(&sewn).ends(0);
    folder.run(&["strike", "trial", "T1", "--reason", "sewn anew"]).ends(0);
    folder.run(&trial("T1")).ends(0);
    folder.run(&sewn).ends(0);
    folder
}

#[test]
fn what_an_import_prints_undoes_all_that_it_added() {
    let odd = Stock { paper: "it's laid; 120", thread: "flax \"18/3\"" };
    for sheet in [
        row("T1", STOCK, 2),
        row("N1", STOCK, 1),
        row("T1", STOCK, 2) + &row("T1", STOCK, 3) + &row("N1", odd, 1) + &row("N1", odd, 2),
        row("…", odd, 1) + &row("N/1", odd, 1),
        (1..=7).map(|trial| row(&format!("N{trial}"), odd, 1)).collect(),
        (3..=9).map(|place| row("T1", STOCK, place)).collect(),
    ] {
        let folder = book();
        let before = counting(&folder);
        let sheet = sheet.replace("flax \"18/3\"", "\"flax \"\"18/3\"\"\"");
        folder.write("sheet.csv", format!("{HEADER}{sheet}"));
        let said = folder.run(&["import", "sheet.csv"]).ends(0).out;
        assert_ne!(counting(&folder), before, "{said}");
        undo(&folder, &said);
        assert_eq!(counting(&folder), before, "{said}");
    }
}

#[test]
fn a_book_whose_name_begins_like_an_option_can_be_used_as_advised() {
    let folder = Folder::new();
    let told = folder.run(&["init", "--", "-d"]).ends(0).err;
    assert!(told.contains("next: swellbook --book=-d record paper"), "{told}");
    let before = Book::open(&folder.path().join("-d")).expect("a book").entries().clone();
    let said = folder.run(&["--book=-d", "record", "target", "limp", "2..10"]).ends(0).out;
    undo(&folder, &said);
    assert_eq!(*Book::open(&folder.path().join("-d")).expect("a book").entries(), before);
    let sheet = |spine: &str| {
        let row = format!("A1,,bond,hard,0.12,linen,0.5,10,3,sewn,1,{spine},7.6\n");
        folder.write("sheet.csv", HEADER.to_owned() + &row);
    };
    sheet("11.2");
    folder.run(&["--book=-d", "import", "sheet.csv"]).ends(0);
    sheet("11.3");
    let way = "if the book is wrong: swellbook --book=-d correct reading A1/sewn/1 --spine 11.3mm";
    folder.run(&["--book=-d", "import", "sheet.csv"]).ends(3).complains_of(&[way]);
}

#[test]
fn a_whole_tour_goes_into_any_folder() {
    for (args, name) in [
        (&["tour", "-"][..], "-"),
        (&["tour", "--", "-d"], "-d"),
        (&["tour", "--", "--book"], "--book"),
    ] {
        let folder = Folder::new();
        let run = folder.run(args).ends(0);
        assert!(run.err.is_empty() || !run.err.contains("error"), "{}", run.err);
        assert!(folder.path().join(name).join("card.html").exists(), "{name}");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}

/// To undo a book in a folder with other things, the program names only the book's files.
#[test]
fn a_book_made_beside_other_things_is_undone_without_them() {
    let folder = Folder::new();
    folder.write("notes.txt", "the apprentice's rota");
    let made = folder.run(&["init", "."]).ends(0).out;
    assert!(!made.contains("remove the folder"), "{made}");
    let undo = made.split_once("(to undo: remove ").expect("an undo hint").1;
    let (names, _) = undo.split_once(" from it and leave what was there before)").expect(&made);
    for name in names.split_whitespace().map(|name| name.trim_end_matches(',')) {
        std::fs::remove_file(folder.path().join(name)).expect(name);
    }
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().flatten().collect();
    assert_eq!(left.len(), 1, "{left:?}");
    assert_eq!(folder.read("notes.txt"), "the apprentice's rota");
}
