//! `fit --with` reads other books and never writes to them. Each message names its book, and books
//! that cannot be fitted together are refused with their folder.

use crate::support::folder::{Folder, Run};
use crate::support::one_line;
use crate::support::pools::pool;
use serde_json::Value;
use swellbook::book::pool_text;

const HEAD: &str = "trial,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,place,\
                    spine_mm,fore_edge_mm\n";

/// A book in a folder of its name: two trials on paper `wove`, the spine thicker by `more` mm for
/// each section.
fn book(folder: &Folder, name: &str, more: f64) {
    let row = |trial: &str, sections: f64, state: &str, place: &str, out: f64| {
        let fore_edge = sections * 0.83;
        let spine = fore_edge + sections * (0.3 + more) + out;
        format!(
            "{trial},wove,medium,0.1,linen,0.5,{sections},4,{state},{place},{spine:.2},{fore_edge:.2}\n"
        )
    };
    let rows = [("T1", 8.0), ("T2", 12.0)].map(|(trial, sections)| {
        row(trial, sections, "sewn", "head", 0.03) + &row(trial, sections, "sewn", "tail", -0.03)
    });
    folder.write("sheet.csv", format!("{HEAD}{}", rows.concat()));
    folder.run(&["init", name, "--title", &format!("{name}'s bench")]).ends(0);
    folder.run(&["--book", name, "import", "sheet.csv"]).ends(0);
}

/// Anna's book and Bela's.
fn two() -> Folder {
    let folder = Folder::new();
    book(&folder, "anna", 0.0);
    book(&folder, "bela", 0.05);
    folder
}

fn with(folder: &Folder, others: &[&str]) -> Run {
    folder.run(&[&["--book", "anna", "fit", "--with"], others].concat())
}

#[test]
fn two_books_are_told_apart_and_neither_is_written() {
    let folder = two();
    folder.write("more.toml", "\n[beliefs.factor]\nmean = 0.5\n");
    let settings = folder.read("bela/book.toml") + &folder.read("more.toml");
    folder.write("bela/book.toml", settings);
    let before = folder.holds();
    let run = with(&folder, &["bela"]).ends(0);
    let json = with(&folder, &["bela", "--json"]).json();
    assert_eq!(before, folder.holds());
    for said in [
        "of the thread build-up",
        "anna's bench (this book): ",
        "bela's bench: 0.00 (",
        "What the other books add to the factors of this one:",
        "wove (range ",
        "wove (medium, 2 trials)",
        "wove (bela's bench; medium, 2 trials)",
        "The book.toml of bela's bench has other starting beliefs; those of this book are used",
        "Based on 4 trials, 4 observations of 2 books.",
    ] {
        assert!(one_line(&run.out).contains(said), "no {said:?} in {}", run.out);
    }
    let [anna, bela] = [0, 1].map(|at| &json["benches"][at]);
    assert_eq!((&anna["folder"], &bela["folder"]), (&"anna".into(), &"bela".into()));
    assert_eq!((&anna["other_beliefs"], &bela["other_beliefs"]), (&false.into(), &true.into()));
    assert_eq!((&anna["trials"], &anna["hands"][0]["hand"]), (&2.into(), &Value::Null));
    let [own, other] = [0, 1].map(|at| &json["papers"][at]);
    assert_eq!((&own["paper"], &other["paper"]), (&"wove".into(), &"wove".into()));
    assert_eq!((&own["bench"], &other["bench"]), (&Value::Null, &"bela's bench".into()));
    let figure = |value: &Value| value.as_f64().expect("a number");
    // Five hundredths of a millimetre a section are a tenth of this thread. With two trials each,
    // half of that may be chance.
    let more = figure(&other["sewn"]["q50"]) - figure(&own["sewn"]["q50"]);
    assert!((0.03..0.10).contains(&more), "{more}");
    assert!(
        figure(&bela["hands"][0]["effect"]["mean"]) > figure(&anna["hands"][0]["effect"]["mean"])
    );
    let gained = &json["gained"][0];
    let width = |of: &str| figure(&gained[of]["q95"]) - figure(&gained[of]["q05"]);
    let narrower = 1.0 - width("together") / width("alone");
    assert!((figure(&gained["narrower"]) - narrower).abs() < 1e-9);
    assert!(narrower > 0.0, "another bench says something of this one: {narrower}");
    // The figures alone are those of `fit` without other books.
    let alone = folder.run(&["--book", "anna", "fit", "--json"]).json();
    assert_eq!(alone["papers"][0]["sewn"], gained["alone"]);
    assert_eq!(alone["papers"][0]["bench"], Value::Null);
    let spread = figure(&json["spreads"]["hand"]["q50"]);
    assert!((figure(&json["bench_difference"]["q50"]) / spread - 2f64.sqrt()).abs() < 1e-9);
}

/// The figures rest on the starting beliefs of this book, as without other books.
#[test]
fn a_book_that_starts_from_a_pool_says_so_with_others_too() {
    let folder = two();
    folder.write("pool.toml", pool_text(&pool()));
    folder.run(&["--book", "anna", "beliefs", "--from", "pool.toml", "--yes"]).ends(0);
    let rests_on = |args: &[&str]| {
        let json = folder.run(&[&["--book", "anna", "fit", "--json"], args].concat()).json();
        json["rests_on"].clone()
    };
    let together = rests_on(&["--with", "bela"]);
    assert_eq!(together["pool"]["benches"], 42);
    assert_eq!(together, rests_on(&[]));
}

#[test]
fn the_same_book_twice_is_refused_however_it_is_named() {
    let folder = two();
    with(&folder, &["anna"]).ends(2).complains_of(&["--with anna", "the same folder as this book"]);
    with(&folder, &["bela", "anna/../bela"]).ends(2).complains_of(&[
        "--with anna/../bela",
        "the same folder as --with bela",
        "once",
    ]);
    with(&folder, &["anna/book.toml"]).ends(2).complains_of(&["the same folder as this book"]);
    #[cfg(unix)]
    {
        let link = folder.path().join("link");
        std::os::unix::fs::symlink(folder.path().join("anna"), link).expect("a link");
        with(&folder, &["link"]).ends(2).complains_of(&["the same folder as this book"]);
    }
}

/// Trials that two books share count twice, even if both books went on since they were one.
#[test]
fn books_with_trials_in_common_are_refused() {
    let folder = two();
    for (path, bytes) in folder.holds() {
        if let Ok(inside) = path.strip_prefix("anna") {
            std::fs::create_dir_all(folder.path().join("copy")).expect("a folder");
            folder.write(&format!("copy/{}", inside.display()), bytes);
        }
    }
    folder.run(&["--book", "copy", "strike", "trial", "T2", "--reason", "older"]).ends(0);
    let refused = with(&folder, &["bela", "copy"]).ends(3);
    refused.complains_of(&["a trial of 'anna' is also in 'copy', such as 'T1'", "count twice"]);
    folder.run(&["--book", "copy", "restore", "trial", "T2"]).ends(0);
    for (name, trial, sections) in [("anna", "T3", "9"), ("copy", "T4", "11")] {
        let stock =
            ["--paper", "wove", "--thread", "linen", "--sections", sections, "--sheets", "4"];
        folder.run(&[&["--book", name, "record", "trial", trial], &stock[..]].concat()).ends(0);
        let edges = ["--state", "sewn", "--spine", "11,11.1", "--fore-edge", "8,8.05"];
        folder.run(&[&["--book", name, "record", "readings", trial], &edges[..]].concat()).ends(0);
    }
    let refused = with(&folder, &["copy"]).ends(3);
    refused.complains_of(&["2 trials of 'anna' are also in 'copy', such as 'T1'", "leave it out"]);
    for trial in ["T1", "T2"] {
        folder.run(&["--book", "copy", "strike", "trial", trial, "--reason", "shared"]).ends(0);
    }
    with(&folder, &["copy"]).ends(0);
}

#[test]
fn faults_of_another_book_are_reported_with_its_folder() {
    let folder = two();
    with(&folder, &["nowhere"])
        .ends(1)
        .complains_of(&["--with nowhere: no book.toml", "name the folder"]);
    for option in ["--check", "--compare"] {
        let both = folder.run(&["--book", "anna", "fit", option, "--with", "bela"]).ends(2);
        both.complains_of(&["cannot be combined with", "--with", option]);
    }
    let papers = folder.read("bela/papers.csv");
    folder.write("bela/papers.csv", papers.replace("0.1", "900"));
    with(&folder, &["bela"]).ends(3).complains_of(&["bela/papers.csv:2, column caliper_mm"]);
    folder.write("bela/papers.csv", papers);
    let settings = folder.read("bela/book.toml");
    folder.write("bela/book.toml", settings.clone() + "\n[spreads]\nsewings = 0.03\n");
    with(&folder, &["bela"]).ends(3).complains_of(&["bela: ", "sewings is not a belief"]);
    folder.write("bela/book.toml", settings);
    // A cut-off last line is reported, and the file is read without it.
    let readings = folder.read("bela/readings.csv");
    folder.write("bela/readings.csv", &readings[..readings.len() - 5]);
    let run = with(&folder, &["bela"]).ends(0);
    assert!(run.err.contains("note: bela: readings.csv"), "{}", run.err);
    assert_eq!(folder.read("bela/readings.csv").len(), readings.len() - 5);
}

#[test]
fn a_book_without_trials_learns_from_the_others_and_none_from_nothing() {
    let folder = two();
    folder.run(&["init", "new"]).ends(0);
    folder.run(&["init", "empty"]).ends(0);
    let nothing = folder.run(&["--book", "new", "fit", "--with", "empty"]).ends(4);
    nothing.complains_of(&["nothing to learn from yet: none of the 2 books"]);
    folder.run(&["--book", "new", "record", "paper", "laid", "--caliper", "0.12mm"]).ends(0);
    let run = folder.run(&["--book", "new", "fit", "--with", "bela"]).ends(0);
    for said in ["This book has no measured trial yet", "new (this book): 0.00", "0 trials"] {
        assert!(run.out.contains(said), "no {said:?} in {}", run.out);
    }
}
