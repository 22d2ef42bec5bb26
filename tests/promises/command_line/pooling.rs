//! `pool` turns summaries of benches into a file that a book can start from.

use crate::support::folder::{Folder, TODAY};
use crate::support::{assert_contains, numbers_in, one_line, repository_text};
use swellbook::book::read_pool_file;
use swellbook::model::{Beliefs, Coefficient};

/// The invented benches of datasets/pool. The last one measures its spines over the cords.
const BENCHES: [&str; 6] = ["ash", "birch", "cedar", "elm", "fir", "oak"];

fn summary(bench: &str) -> String {
    repository_text(&format!("datasets/pool/{bench}.json"))
}

/// A folder with the summaries of all benches.
fn summaries() -> Folder {
    let folder = Folder::new();
    for bench in BENCHES {
        folder.write(&format!("{bench}.json"), summary(bench));
    }
    folder
}

const ALL: [&str; 7] =
    ["pool", "ash.json", "birch.json", "cedar.json", "elm.json", "fir.json", "oak.json"];

#[test]
fn a_pool_says_what_to_believe_and_a_book_starts_from_its_file() {
    let folder = summaries();
    let run = folder.run(&[&ALL[..6], &["--out", "pool.toml"]].concat()).ends(0);
    assert!(run.out.starts_with("At a new bench "), "{}", run.out);
    let words = one_line(&run.out);
    let parts = ["5 benches with 62 trials", "All benches fit each other", "instead of"];
    assert_contains(&words, &parts);
    assert!(run.err.contains("swellbook init DIR --beliefs pool.toml"), "{}", run.err);
    let text = folder.read("pool.toml");
    let pool = read_pool_file(text.as_bytes(), "pool.toml").expect("a pool");
    assert_eq!((pool.benches, pool.trials, pool.made.as_str()), (5, 62, TODAY));
    let factor = Coefficient::Factor;
    let found = &pool.beliefs[factor.name()];
    assert!(found.between < found.sd && found.sd < Beliefs::default().coefficient(factor).sd);
    folder.run(&["init", "new", "--beliefs", "pool.toml"]).ends(0);
    let beliefs = folder.run(&["--book", "new", "beliefs"]).ends(0);
    assert!(beliefs.out.contains("5 benches"), "{}", beliefs.out);
}

/// The files give the same bytes in any order, and if one is given twice.
#[test]
fn neither_order_nor_a_copy_changes_the_file() {
    let folder = summaries();
    folder.run(&[&ALL[..], &["--out", "a.toml"]].concat()).ends(0);
    let mut turned = ALL;
    turned[1..].reverse();
    folder.run(&[&turned[..], &["--out", "b.toml"]].concat()).ends(0);
    assert_eq!(folder.read("a.toml"), folder.read("b.toml"));
    // The same numbers in another file, with one more space.
    folder.write("copy.json", summary("elm").replace("\"format\": 1", "\"format\":  1"));
    let run = folder.run(&[&ALL[..], &["copy.json", "--out", "c.toml"]].concat()).ends(0);
    assert!(run.out.contains("copy.json says the same as elm.json"), "{}", run.out);
    assert_eq!(folder.read("a.toml"), folder.read("c.toml"));
}

#[test]
fn a_bench_that_does_not_fit_is_named_with_what_is_odd() {
    let folder = summaries();
    let run = folder.run(&ALL).ends(0);
    let words = one_line(&run.out);
    assert!(words.contains("One bench does not fit the others: oak.json: factor"), "{words}");
    assert!(words.contains("higher than elsewhere"), "{words}");
    assert!(run.err.contains("--out pool.toml"), "{}", run.err);
    assert!(!folder.path().join("pool.toml").exists());
    let found = folder.run(&[&ALL[..], &["--json"]].concat()).json();
    assert_eq!(found["apart"][0]["file"], "oak.json");
    assert_eq!(found["apart"][0]["odd"][0]["coefficient"], "factor");
    assert!(found["apart"][0]["odd"][0]["by"].as_f64().expect("a number") > 0.3);
    assert_eq!(found["benches"], 6);
}

/// A folder gives the same pool as the names of the summaries in it.
#[test]
fn a_folder_stands_for_the_summaries_in_it() {
    let folder = Folder::new();
    for made in ["summaries", "empty"] {
        std::fs::create_dir(folder.path().join(made)).expect("a folder");
    }
    for bench in BENCHES {
        folder.write(&format!("summaries/{bench}.json"), summary(bench));
    }
    folder.write("summaries/notes.txt", "not a summary");
    folder.run(&["pool", "summaries", "--out", "folder.toml"]).ends(0);
    let names = BENCHES.map(|bench| format!("summaries/{bench}.json"));
    let names = names.iter().map(String::as_str);
    let all: Vec<&str> = ["pool"].into_iter().chain(names).collect();
    folder.run(&[&all[..], &["--out", "names.toml"]].concat()).ends(0);
    assert_eq!(folder.read("folder.toml"), folder.read("names.toml"));
    folder.run(&["pool", "no-such.json"]).ends(1).complains_of(&["does not exist"]);
    folder.run(&["pool", "empty"]).ends(3).complains_of(&[
        "empty: no file in this folder ends in .json",
        "swellbook export --summary",
    ]);
}

#[test]
fn all_bad_files_are_named_and_nothing_is_pooled() {
    let folder = summaries();
    folder.write("torn.json", &summary("ash")[..900]);
    folder.write("other.json", "{\"format\": 9}");
    // More information than any readings give.
    let first = "\"information\": [\n    [";
    folder.write("huge.json", summary("ash").replace(first, &format!("{first}999999999")));
    folder.write("pool.toml", "mine");
    folder.write("rows.json", "[{\"trial\": \"T1\"}]");
    let pool = folder.run(&["pool", "ash.json", "--out", "-"]).ends(0).out;
    folder.write("other.toml", pool);
    let all = ["pool", "ash.json", "torn.json", "other.json", "huge.json", "none.json"];
    let all = [&all[..], &["rows.json", "other.toml"]].concat();
    folder.run(&[&all[..], &["--out", "new.toml"]].concat()).ends(3).complains_of(&[
        "torn.json:",
        "other.json: format 9",
        "huge.json: information",
        "none.json: this file does not exist",
        "rows.json: this is not a summary of a bench; leave it out",
        "other.toml: this is a pool, not a summary of a bench; leave it out",
        "nothing was pooled",
    ]);
    assert!(!folder.path().join("new.toml").exists());
    let refused = folder.run(&["pool", "ash.json", "--out", "pool.toml"]);
    assert_eq!((refused.code, folder.read("pool.toml")), (3, "mine".to_owned()));
    folder.run(&["pool", "ash.json", "--out", "pool.toml", "--replace"]).ends(0);
    assert!(folder.read("pool.toml").contains("benches = 1"));
}

#[test]
fn one_bench_does_not_show_how_much_benches_differ() {
    let said = summaries().run(&["pool", "ash.json"]).ends(0).out;
    assert!(said.contains("One bench cannot show how much benches differ"), "{said}");
    assert!(!said.contains("All benches fit each other"), "{said}");
}

/// With `-`, only the file goes to standard output.
#[test]
fn the_file_can_go_to_standard_output() {
    let folder = summaries();
    let run = folder.run(&["pool", "ash.json", "--out", "-"]).ends(0);
    assert!(read_pool_file(run.out.as_bytes(), "pool.toml").is_ok(), "{}", run.out);
    let from = folder.run_with(&["pool", "-", "--out", "-"], summary("ash").as_bytes()).ends(0);
    assert_eq!(from.out, run.out);
    let both = folder.run(&["pool", "ash.json", "--out", "-", "--json"]).ends(2);
    both.complains_of(&["--json and --out - both print to standard output"]);
}

/// The summaries of datasets/pool are made from the sheets beside them, to six digits.
#[test]
fn the_invented_summaries_are_made_from_the_sheets_beside_them() {
    for bench in ["cedar"] {
        let folder = Folder::of_sheet(repository_text(&format!("datasets/pool/{bench}.csv")));
        let made = folder.run(&["export", "--summary", "-"]).ends(0).out;
        let (made, kept) = (numbers(&made), numbers(&summary(bench)));
        assert_eq!(made.len(), kept.len());
        for (made, kept) in made.into_iter().zip(kept) {
            assert!((made - kept).abs() <= 1e-6 * (1.0 + kept.abs()), "{bench}: {made} {kept}");
        }
    }
}

fn numbers(text: &str) -> Vec<f64> {
    numbers_in(&serde_json::from_str(text).expect("JSON"))
}
