//! A book can start from what many benches learnt. Its answers say so while their first figures
//! rest on it, and `book.toml` keeps its source and every line written by hand.

use crate::support::folder::{Folder, trial};
use crate::support::one_line;
use crate::support::pools::{correlated, pool};
use serde_json::Value;
use swellbook::book::{Book, PoolFile, pool_text};

const CHOOSE: [&str; 4] = ["beliefs", "--from", "pool.toml", "--yes"];
const COMMON: [&str; 4] = ["beliefs", "--from", "common-practice", "--yes"];
const PREDICT: [&str; 8] = [
    "predict",
    "--paper=bond 80",
    "--thread=linen 25",
    "--sections=20",
    "--sheets=4",
    "--state",
    "knocked",
    "--target=rounded",
];
/// The words for figures that rest on the pool.
const LEARNT: &str = "what 42 benches learnt (pool.toml, made 2026-02-20)";

/// A folder with a book, a pool, a paper and a thread, but no trial.
fn book() -> Folder {
    with_pool(Folder::new(), &["init", "."])
}

fn with_pool(folder: Folder, init: &[&str]) -> Folder {
    folder.write("pool.toml", pool_text(&pool()));
    folder.run(init).ends(0);
    let paper = ["record", "paper", "bond 80", "--caliper", "0.1mm", "--hardness", "hard"];
    folder.run(&paper).ends(0);
    folder.run(&["record", "thread", "linen 25", "--count", "lea 25/3"]).ends(0);
    folder
}

fn json(folder: &Folder, args: &[&str]) -> Value {
    folder.run(&[args, &["--json"]].concat()).json()
}

fn kept_pool(folder: &Folder) -> Option<PoolFile> {
    let book = Book::open(folder.path()).expect("a book");
    book.config().pool.as_ref().map(|chosen| chosen.pool.clone())
}

#[test]
fn a_new_book_starts_from_the_pool_it_is_given_and_one_chosen_later_is_the_same() {
    let new = with_pool(Folder::new(), &["init", ".", "--title", "A", "--beliefs", "pool.toml"]);
    let later = with_pool(Folder::new(), &["init", ".", "--title", "A"]);
    let before = later.read("book.toml");
    let chose = later.run(&CHOOSE).ends(0);
    let said =
        format!("this book now starts from {LEARNT} (to undo: swellbook beliefs --from common");
    assert!(chose.out.starts_with(&said), "{}", chose.out);
    assert_eq!(new.read("book.toml"), later.read("book.toml"));
    assert_eq!(kept_pool(&later), Some(pool()));
    let sha256 = json(&later, &["beliefs"])["rests_on"]["pool"]["sha256"].clone();
    let sum = std::process::Command::new("sha256sum").arg(later.path().join("pool.toml")).output();
    if let Ok(sum) = sum {
        let sum = String::from_utf8(sum.stdout).expect("digits");
        assert_eq!(sum.split(' ').next(), sha256.as_str());
    }
    later.run(&COMMON).ends(0);
    assert_eq!(later.read("book.toml"), before);
    assert_eq!(kept_pool(&later), None);
}

/// A pool from standard input has no file. Other files may be gone, in another folder, or have a
/// new pool in them.
#[test]
fn the_way_back_to_a_pool_names_its_file_only_where_it_still_is() {
    let folder = book();
    let pool = folder.read("pool.toml");
    let back = |folder: &Folder| folder.run(&COMMON).ends(0).out;
    folder.run(&CHOOSE).ends(0);
    let out = back(&folder);
    assert!(out.contains("(to undo: swellbook beliefs --from pool.toml --yes)"), "{out}");
    folder.run_with(&["beliefs", "--from", "-", "--yes"], pool.as_bytes()).ends(0);
    let (out, file) = (back(&folder), "(to undo: swellbook beliefs --from FILE --yes; FILE is");
    assert!(out.contains(file), "{out}");
    folder.run(&CHOOSE).ends(0);
    folder.write("pool.toml", pool.replace("610", "611"));
    let out = back(&folder);
    assert!(
        out.contains(&format!("{file} the earlier pool, made 2026-02-20, from pool.toml)")),
        "{out}"
    );
}

/// Its own summary may be in the pool.
#[test]
fn a_book_with_trials_is_warned_of_a_pool_that_may_count_them() {
    let folder = book();
    let note = "its trials count twice";
    assert!(!folder.run(&CHOOSE).ends(0).err.contains(note));
    folder.run(&COMMON).ends(0);
    folder.run(&trial("T1")).ends(0);
    let chose = json(&folder, &CHOOSE);
    assert_eq!(chose["rests_on"]["pool"]["file"], "pool.toml");
    assert_eq!(
        (&chose["chosen"], &chose["now"]),
        (&Value::Bool(true), &chose["offered"]["beliefs"])
    );
    folder.run(&COMMON).ends(0);
    assert!(folder.run(&CHOOSE).ends(0).err.contains(note));
}

/// Compared with the pool itself, and with the same beliefs set by hand.
#[test]
fn the_first_figures_are_those_of_the_pool() {
    let (pooled, by_hand) = (book(), book());
    pooled.run(&CHOOSE).ends(0);
    let mut text = by_hand.read("book.toml");
    for (name, belief) in pool().beliefs {
        text += &format!("[beliefs.{name}]\nmean = {:?}\nsd = {:?}\n", belief.mean, belief.sd);
    }
    text += "[spreads]\n";
    pool().spreads.iter().for_each(|(name, scale)| text += &format!("{name} = {scale:?}\n"));
    by_hand.write("book.toml", text);
    let [pooled, by_hand] = [&pooled, &by_hand].map(|folder| {
        let mut forecast = json(folder, &PREDICT);
        let rests_on = forecast["rests_on"].take();
        (forecast, rests_on)
    });
    assert_eq!(pooled.0, by_hand.0);
    assert_eq!(pooled.1["pool"]["benches"], 42);
    assert_eq!(pooled.1["by_hand"], serde_json::json!([]));
    assert_eq!(by_hand.1["pool"], Value::Null);
    assert_eq!(by_hand.1["by_hand"].as_array().map(Vec::len), Some(18));
}

#[test]
fn every_answer_says_on_what_its_first_figures_rest() {
    let folder = book();
    let plan = ["plan", "--paper=bond 80", "--leaves=160", "--target=rounded"];
    let part = ["--sewn=8", "--spine=9.6,9.66", "--fore-edge=6.86,6.9"];
    let midway = [&["midway"], &PREDICT[1..], &part].concat();
    let next = [&["next"], &PREDICT[1..]].concat();
    let show = ["show", "paper", "bond 80"];
    let chart = ["chart", "factors", "--out=-"];
    let asked: [&[&str]; 6] = [&PREDICT, &plan, &midway, &next, &show, &chart];
    let said = |args: &[&str]| {
        let run = folder.run(args).ends(0);
        one_line(&(run.out + &run.err))
    };
    for args in asked {
        let text = said(args);
        assert!(text.contains("ased on common practice"), "{args:?}: {text}");
    }
    let first = said(&PREDICT);
    assert!(
        first.contains("leans heavily on the starting beliefs, which have no source."),
        "{first}"
    );
    folder.run(&CHOOSE).ends(0);
    for args in asked {
        let text = said(args);
        assert!(text.contains(&format!("ased on {LEARNT}")), "{args:?}: {text}");
        assert!(
            !text.contains("have no source") && !text.contains("ased on common practice"),
            "{args:?}: {text}"
        );
    }
    let first = said(&PREDICT);
    assert!(first.contains("on the starting beliefs, which 42 benches learnt"), "{first}");
    let text = folder.read("book.toml") + "\n[beliefs.factor]\nsd = 0.2\n";
    folder.write("book.toml", text);
    let both = said(&PREDICT);
    assert!(both.contains(&format!("{LEARNT} and what book.toml sets by hand.")), "{both}");
    folder.run(&trial("T1")).ends(0);
    folder.measure("T1", "knocked", "10.4,10.5", "8.0,8.05");
    let page = said(&["report", "--out=-"]);
    assert!(
        page.contains("starting beliefs</th>") && page.contains("set by hand in part"),
        "{page}"
    );
}

#[test]
fn beliefs_are_shown_beside_common_practice_and_what_is_offered_beside_both() {
    let folder = book();
    let own = folder.run(&["beliefs"]).ends(0).out;
    assert!(own.starts_with("This book starts from common practice, without a source."), "{own}");
    assert!(own.contains("0.60 (0.15)      0.60 (0.15)"), "{own}");
    let before = folder.read("book.toml");
    let offered = folder.run(&["beliefs", "--from", "pool.toml"]).ends(0);
    assert!(
        offered.out.contains("0.60 (0.15)      0.60 (0.15)     0.70 (0.07)"),
        "{}",
        offered.out
    );
    assert!(one_line(&offered.out).contains(&format!("Offered: {LEARNT}, from 610 trials.")));
    assert!(offered.err.contains("nothing was changed; to start the book"), "{}", offered.err);
    assert_eq!(folder.read("book.toml"), before, "nobody was asked");
    let all = json(&folder, &["beliefs", "--from", "pool.toml"]);
    assert_eq!(all["now"], all["common_practice"]);
    assert_eq!(all["chosen"], false);
    let (common, pooled) = (&all["common_practice"], &all["offered"]["beliefs"]);
    let middle = |set: &Value| set["example_swell_percent"]["q50"].as_f64().expect("a number");
    assert!(middle(pooled) > middle(common) + 2.0, "more of the thread shows: {all}");
    let wide = |set: &Value| {
        let range = &set["example_swell_percent"];
        range["q95"].as_f64().expect("a number") - range["q05"].as_f64().expect("a number")
    };
    assert!(wide(pooled) < 0.7 * wide(common), "half as unsure: {all}");
    let chosen = json(&folder, &CHOOSE);
    assert_eq!(chosen["chosen"], true);
    let now = json(&folder, &["beliefs"]);
    for key in ["coefficients", "spreads", "example_swell_percent"] {
        assert_eq!(now["now"][key], pooled[key], "{key}");
    }
}

#[test]
fn what_a_hand_wrote_in_the_settings_stays_and_no_edit_is_reported() {
    let folder = book();
    let text = folder.read("book.toml").replace("unit = \"mm\"", "unit = 'mm' # as at school")
        + "\n# Measured in May.\n[beliefs.hard]\nsd = 0.2\n\n[spreads]\nhand=0.01\n";
    folder.write("book.toml", &text);
    folder.run(&["audit", "--accept"]).ends(0);
    folder.run(&CHOOSE).ends(0);
    assert!(folder.read("book.toml").starts_with(&text));
    for args in [&["audit", "--strict"][..], &["record", "target", "x", "1..2"]] {
        let run = folder.run(args).ends(0);
        assert!(!(run.out + &run.err).contains("book.toml"), "{args:?}");
    }
    let by_hand = json(&folder, &["beliefs"]);
    assert_eq!(by_hand["rests_on"]["by_hand"], serde_json::json!(["hard", "hand"]));
    assert_eq!(by_hand["now"]["coefficients"]["hard"]["sd"], 0.2);
    assert_eq!(by_hand["now"]["coefficients"]["hard"]["mean"], 0.04);
    assert_eq!(by_hand["now"]["spreads"]["hand"], 0.01);
    let again = folder.run(&CHOOSE).ends(0);
    assert!(again.out.contains("already starts from"), "{}", again.out);
    folder.run(&COMMON).ends(0);
    assert_eq!(folder.read("book.toml"), text);
    assert!(folder.run(&["audit", "--strict"]).ends(0).out.contains("nothing suspect"));
}

/// A command that writes reports an edit that was not reported before.
#[test]
fn an_edit_of_the_settings_is_reported_when_a_pool_is_chosen_and_a_part_of_them_is_refused() {
    let folder = book();
    let whole = folder.read("book.toml");
    folder.write("book.toml", format!("{whole}# mine\n"));
    let chose = folder.run(&CHOOSE).ends(0);
    assert!(chose.err.contains("book.toml: changed outside swellbook"), "{}", chose.err);
    folder.write("book.toml", &whole[..whole.find("# The smallest").expect("a part")]);
    let refused = folder.run(&CHOOSE).ends(3);
    assert!(refused.err.contains("book.toml: shorter than it was"), "{}", refused.err);
}

#[test]
fn pools_that_cannot_be_believed_are_refused_before_anything_is_written() {
    let mut unknown = pool();
    let belief = unknown.beliefs.remove("fold").expect("a belief");
    unknown.beliefs.insert("crease".to_owned(), belief);
    let sound = pool_text(&pool());
    let pairs = [("factor", "hard", 0.9), ("factor", "soft", 0.9), ("hard", "soft", -0.9)];
    let torn: Vec<&str> = sound.lines().take(30).collect();
    let cases: [(&str, Vec<u8>, &[&str]); 8] = [
        ("empty", Vec::new(), &["the key 'format' is missing; write format = 1"]),
        (
            "unknown",
            pool_text(&unknown).into(),
            &[
                "pool.toml: [beliefs] crease is not a belief",
                "pool.toml: [beliefs] fold is missing",
            ],
        ),
        ("impossible", pool_text(&correlated(&pairs)).into(), &["pool.toml: ", "soft"]),
        (
            "NaN",
            sound.replacen("mean = ", "mean = nan # ", 1).into(),
            &["pool.toml:", "the mean NaN is outside -100..100"],
        ),
        ("torn", torn.join("\n").into(), &["pool.toml", "missing"]),
        ("huge", vec![b'#'; 1 << 20], &["pool.toml: larger than 16 KiB, too large for a pool"]),
        (
            "newer",
            sound.replacen("format = 1", "format = 2", 1).into(),
            &["made by a newer swellbook: format 2"],
        ),
        ("binary", vec![0xff; 300], &["pool.toml:1: byte 0xFF is not UTF-8"]),
    ];
    let folder = book();
    let before = folder.bytes();
    for (case, bytes, says) in cases {
        folder.write("pool.toml", bytes);
        let refused = folder.run(&CHOOSE);
        assert!(matches!(refused.code, 3 | 6), "{case}: {refused:?}");
        refused.complains_of(says);
        let made = folder.run(&["init", "new", "--beliefs", "pool.toml"]);
        assert!(matches!(made.code, 3 | 6) && !folder.path().join("new").exists(), "{case}");
        let mut after = folder.bytes();
        after.retain(|path, _| !path.ends_with("pool.toml"));
        assert!(
            before
                .iter()
                .all(|(path, bytes)| path.ends_with("pool.toml") || after.get(path) == Some(bytes)),
            "{case}"
        );
    }
    folder.run(&["beliefs", "--from", "no-such.toml"]).ends(1).complains_of(&["does not exist"]);
}

/// The table may be edited by hand too. What the model does not know is refused where it is used.
#[test]
fn a_pool_in_the_settings_that_cannot_be_believed_names_the_settings() {
    let folder = book();
    folder.run(&CHOOSE).ends(0);
    let text = folder.read("book.toml");
    folder.write("book.toml", text.replace("[pool.beliefs.fold]", "[pool.beliefs.crease]"));
    let refused = folder.run(&PREDICT).ends(3);
    refused.complains_of(&["book.toml: [pool]: [beliefs] crease is not a belief of the model"]);
    folder.write("book.toml", text.replace("trials = 610", "trials = -610"));
    folder.run(&PREDICT).ends(3).complains_of(&["trials -610 is outside 0..", "book.toml:"]);
}

#[cfg(unix)]
#[test]
fn settings_that_a_link_leads_to_are_left_alone() {
    let folder = book();
    let (own, other) = (folder.path().join("book.toml"), folder.path().join("elsewhere.toml"));
    std::fs::rename(&own, &other).expect("moved");
    std::os::unix::fs::symlink(&other, &own).expect("a link");
    let before = folder.read("elsewhere.toml");
    folder.run(&CHOOSE).ends(3).complains_of(&["book.toml: this is a link"]);
    assert_eq!(folder.read("elsewhere.toml"), before);
    assert!(own.is_symlink());
}
