//! A new book can begin with common threads. Papers are weighed as their labels say. A book in
//! inches uses inches and yards.

use crate::support::folder::{Folder, words};
use crate::support::one_line;
use crate::support::served::{Served, number};
use crate::support::terminal::Terminal;
use std::fs;
use swellbook::book::Book;

const WITH: &[&str] = &["init", ".", "--with-threads"];
const WITHOUT: &[&str] = &["init", "."];
const SETTINGS: &str = "book.toml";

fn threads(folder: &Folder) -> Vec<String> {
    let book = Book::open(folder.path()).expect("a book");
    book.threads().iter().map(|thread| thread.name.to_string()).collect()
}

#[test]
fn a_new_book_begins_with_common_threads_if_asked_to() {
    let folder = Folder::new();
    let run = folder.run(WITH).ends(0);
    assert!(
        run.out.contains("6 starting targets and 8 linen threads (to undo: remove the folder)")
    );
    assert!(run.err.contains("common practice, no source"), "{}", run.err);
    let book = Book::open(folder.path()).expect("a book");
    assert_eq!(book.threads().len(), 8);
    for thread in book.threads() {
        let count = thread.count().expect("a count").to_string();
        assert_eq!(thread.name.as_str(), count.replace("lea", "linen"));
        assert_eq!(Some(thread.diameter()), thread.diameter_from_count());
        assert!(thread.note.contains("measure yours"), "{}", thread.note);
    }
    let strike = ["strike", "thread", "linen 12/3", "--reason", "not in stock"];
    folder.run(&strike).ends(0);
    assert!(folder.run(&["audit"]).ends(0).out.contains("nothing suspect"));
    folder.run(&["record", "paper", "wove", "--caliper", "0.1"]).ends(0);
    let plan = words("predict --paper wove --thread 'linen 18/3' --sections 9 --sheets 4");
    folder.run(&plan).ends(0);
    let other = Folder::new();
    assert!(!other.run(WITHOUT).ends(0).out.contains("thread"));
    assert_eq!(threads(&other), <[&str; 0]>::default());
}

/// What a stopped init leaves: some files whole, one begun, and no settings.
fn stopped(kind: &[&str], begun: &str, bytes: usize) -> Folder {
    // The digest of the settings is written last, after the settings themselves.
    let (whole, folder) = (Folder::new(), Folder::new());
    whole.run(kind).ends(0);
    let digests = whole.read("book.digests");
    let early: Vec<&str> =
        digests.split_inclusive('\n').filter(|it| !it.contains(SETTINGS)).collect();
    whole.write("book.digests", early.concat());
    for (path, content) in whole.bytes() {
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        let kept = if name == begun { bytes.min(content.len()) } else { content.len() };
        if name != SETTINGS {
            folder.write(&name, &content[..kept]);
        }
    }
    folder
}

#[test]
fn an_init_that_was_stopped_is_finished_with_threads_or_without() {
    for wanted in [WITH, WITHOUT] {
        let fresh = Folder::new();
        fresh.run(wanted).ends(0);
        for before in [WITH, WITHOUT] {
            for (begun, bytes) in [
                ("threads.csv", 0),
                ("threads.csv", 60),
                ("threads.csv", 9999),
                ("book.digests", 30),
            ] {
                let folder = stopped(before, begun, bytes);
                assert!(Book::open(folder.path()).is_err(), "half a book is a book");
                folder.run(wanted).ends(0);
                for name in ["threads.csv", "targets.csv", "papers.csv"] {
                    assert_eq!(folder.read(name), fresh.read(name), "{before:?}, {begun} {bytes}");
                }
                let audit = folder.run(&["audit", "--strict"]).ends(0).out;
                assert!(audit.contains("nothing suspect"), "{before:?}, {begun} {bytes}: {audit}");
            }
        }
    }
}

#[test]
fn somebodys_own_threads_stay_as_they_are() {
    for kind in [WITH, WITHOUT] {
        let folder = stopped(WITH, "", 0);
        let own = folder.read("threads.csv") + "mine,linen,lea 18/3,,\n";
        folder.write("threads.csv", &own);
        folder.run(kind).ends(1).complains_of(&["threads.csv", "a new book needs that name"]);
        assert_eq!(folder.read("threads.csv"), own);
    }
}

#[test]
fn whoever_makes_a_book_at_a_terminal_is_asked_about_threads_once() {
    for (answer, count) in [("yes", 8), ("y", 8), ("", 0), ("no", 0)] {
        let folder = Folder::new();
        let mut terminal = Terminal::run_wide(&folder, WITHOUT);
        terminal.expect("12/3 to 40/3: yes or no [no]: ");
        terminal.send_line(answer);
        let end = terminal.rest();
        assert!(end.contains("made a new book") && !end.contains("yes or no"), "{end}");
        assert_eq!(threads(&folder).len(), count, "{answer}");
        let again = Terminal::run_wide(&folder, WITHOUT).rest();
        assert!(again.contains("already holds a book") && !again.contains("yes or no"), "{again}");
    }
    let folder = Folder::new();
    let mut terminal = Terminal::run_wide(&folder, WITHOUT);
    terminal.expect("yes or no [no]: ");
    terminal.send_line("quit");
    terminal.rest();
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 0);
    for args in [&["init", ".", "--no-input"][..], &["init", "other", "--with-threads"]] {
        let end = Terminal::run_wide(&folder, args).rest();
        assert!(end.contains("made a new book") && !end.contains("yes or no"), "{end}");
    }
    assert_eq!(threads(&folder).len(), 0);
}

/// The weight as typed, and the weight in the book in g/m².
const WEIGHTS: &[(&str, &str)] = &[
    ("90", "90"),
    ("90,5 g/m2", "90.5"),
    ("24 lb bond", "90.2"),
    ("70# Text", "103.6"),
    ("80-lb cover", "216.3"),
    ("110lb index", "198.9"),
    ("100 pounds tag", "162.7"),
];

#[test]
fn a_paper_is_weighed_as_its_label_says() {
    for option in ["--weight", "--grammage"] {
        let folder = Folder::with_book();
        for (at, (typed, gsm)) in WEIGHTS.iter().enumerate() {
            let name = format!("paper {at}");
            let paper = ["record", "paper", &name, "--caliper", "0.12", option, typed];
            let run = folder.run(&paper).ends(0);
            assert!(run.out.contains(&format!("{gsm} g/m\u{b2}, caliper 0.120 mm")), "{}", run.out);
            let said = run.err.contains(&format!("is read as {gsm} g/m\u{b2}"));
            assert_eq!(said, typed.contains("lb") || typed.contains(['#', 'p']), "{}", run.err);
            assert!(folder.read("papers.csv").contains(&format!("{name},{gsm},0.12,")));
        }
    }
}

#[test]
fn pounds_without_a_kind_write_nothing() {
    let folder = Folder::with_book();
    let before = folder.bytes();
    for (typed, says) in [
        ("24 lb", "in g/m\u{b2} that is bond 90.2, text 35.5, cover 64.9"),
        ("24 bond", "write '24 lb bond' or '24 g/m\u{b2}'"),
        ("24 lb card", "'card' is not one of bond, text, cover, index, bristol, tag"),
        ("=1 lb bond", "is not the weight of a paper"),
        ("bond", "is not the weight of a paper"),
    ] {
        let paper = ["record", "paper", "x", "--caliper", "0.1", "--weight", typed];
        folder.run(&paper).ends(3).complains_of(&["--weight", says]);
    }
    // A caliper is not guessed from a weight either.
    let paper = ["record", "paper", "x", "--weight", "24 lb bond"];
    folder.run(&paper).ends(2).complains_of(&["--caliper (or --stack)"]);
    assert_eq!(folder.bytes(), before);
}

#[test]
fn a_sheet_may_weigh_papers_in_pounds() {
    let folder = Folder::with_book();
    let sheet = |weight: &str| {
        format!(
            "trial,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,state,spine_mm,fore_edge_mm\n\
             T1,wove,hard,{weight},0.1,linen,0.5,10,4,sewn,11,8\n"
        )
    };
    folder.write("s.csv", sheet("24 lb"));
    folder.run(&["import", "s.csv"]).ends(3).complains_of(&["s.csv:2", "needs the kind of paper"]);
    folder.write("s.csv", sheet("24 lb bond"));
    let run = folder.run(&["import", "s.csv"]).ends(0);
    assert!(run.err.contains("'24 lb bond' is read as 90.2 g/m\u{b2}"), "{}", run.err);
    assert!(folder.read("papers.csv").contains("wove,90.2,0.1,hard"));
}

fn book_in(unit: &str) -> Folder {
    let folder = Folder::new();
    folder.run(&["init", ".", "--with-threads", "--unit", unit]).ends(0);
    folder.run(&["record", "paper", "ledger", "--caliper", "0.0045in"]).ends(0);
    folder
}

/// By hand: 20 sections all along are 20 traverses. For a book of 10 in (254 mm) that is
/// 1.1·(20·264 + 300) = 6,138 mm, 6.7 yards of 914.4 mm; for 250 mm it is 6,050 mm.
#[test]
fn a_book_in_inches_gives_yards_of_thread_and_inches_of_height() {
    let plan = "plan --paper ledger --leaves 160 --target rounded --sheets 4 --thread 'linen 40/3'";
    let plan = words(plan);
    for (unit, head, first, height) in [
        ("in", "yd", "6.7", "yd is yards of thread for a book 10 in high (assumed"),
        ("thou", "yd", "6.7", "yd is yards of thread for a book 10 in high (assumed"),
        ("mm", "m", "6.1", "m is metres of thread for a book 250 mm high (assumed"),
    ] {
        let folder = book_in(unit);
        let said = folder.run(&plan).ends(0).out;
        let flat = one_line(&said);
        assert!(flat.contains(height) && flat.contains(&format!(" sewn {head} ")), "{said}");
        let row = said.lines().find(|line| line.contains("all along  ")).expect("all along");
        assert!(row.trim_end().ends_with(first) || row.contains(&format!(" {first} ")), "{row}");
        let json = folder.run(&[&plan[..], &["--json"]].concat()).ends(0).out;
        let wanted = if unit == "mm" { 6.05 } else { 6.138 };
        assert!(json.contains(&format!("\"thread_m\": {wanted}")), "{json}");
        let card = "report --paper ledger --thread 'linen 40/3' --sections 20 --sheets 4 \
                    --stations 4 --out card.html";
        folder.run(&words(card)).ends(0);
        let card = folder.read("card.html");
        assert!(card.contains(&format!("Have ready {first} {head} of linen 40/3")), "{unit}");
        let chart = [&["chart"], &plan[..], &["--out", "plan.svg"]].concat();
        folder.run(&chart).ends(0);
        assert!(folder.read("plan.svg").contains(&format!("thread, {head}")), "{unit}");
    }
}

#[test]
fn a_new_book_has_the_step_of_a_usual_gauge() {
    for (unit, given, step) in [
        ("mm", None, "0.01"),
        ("um", None, "0.01"),
        ("in", None, "0.0127"),
        ("thou", None, "0.0127"),
        ("in", Some("0.001"), "0.0254"),
        ("in", Some("0.01mm"), "0.01"),
        ("thou", Some("0.05"), "0.00127"),
    ] {
        let folder = Folder::new();
        let given = given.map(|given| format!("--resolution={given}"));
        let args = ["init", ".", "--unit", unit].into_iter().chain(given.as_deref());
        folder.run(&args.collect::<Vec<_>>()).ends(0);
        let line = format!("resolution_mm = {step}\n");
        assert!(folder.read(SETTINGS).contains(&line), "{unit} {given:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn the_page_offers_an_empty_book_the_same_threads_and_adds_those_ticked_once() {
    let folder = Folder::with_book();
    let served = Served::open(&folder);
    let page = served.worked_out("/stock").says("linen 12/3").says("common practice, no source");
    assert_eq!(page.body.matches("type=\"checkbox\"").count(), 8);
    served.answer(&served.sends("/stock", &number(1), &[])).is(422).says("Tick the threads");
    let odd = [("thread", "linen 99/9"), ("thread", "<b>")];
    served.answer(&served.sends("/stock", &number(2), &odd)).is(422);
    assert_eq!(threads(&folder).len(), 0);
    let ticked = [("thread", "linen 18/3"), ("thread", "linen 30/3")];
    for _ in 0..2 {
        served.answer(&served.sends("/stock", &number(3), &ticked)).is(303);
    }
    assert_eq!(threads(&folder), ["linen 18/3", "linen 30/3"]);
    let page = served.worked_out("/stock");
    assert!(page.body.contains("linen 18/3") && !page.body.contains("type=\"checkbox\""));
    let weight = [("paper", "ledger"), ("caliper", "0.115"), ("weight", "24 lb")];
    served.answer(&served.sends("/paper", &number(4), &weight)).is(422).says("bond 90.2");
    let weight = [("paper", "ledger"), ("caliper", "0.115"), ("weight", "24 lb bond")];
    served.answer(&served.sends("/paper", &number(5), &weight)).is(303);
    assert!(folder.read("papers.csv").contains("ledger,90.2,0.115,"));
}

#[cfg(target_os = "linux")]
#[test]
fn a_page_that_only_shows_offers_no_threads() {
    let folder = Folder::with_book();
    let served = Served::with(&folder, &["--port", "0", "--read-only"]);
    assert!(!served.worked_out("/stock").body.contains("type=\"checkbox\""));
}
