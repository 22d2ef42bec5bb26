//! Tests of taking readings, line by line.

use super::*;
use crate::book::Config;
use crate::trade::{Hardness, Material, Paper, Sewing, State, Thread, Trial, TrialKind};

struct Stock {
    trial: Trial,
    paper: Paper,
    thread: Thread,
    config: Config,
}

fn mm(value: f64) -> Millimetres {
    Millimetres::new(value).unwrap()
}

fn stock() -> Stock {
    let name = |text: &str| text.parse().unwrap();
    let count = "lea 25/3".parse().ok();
    Stock {
        trial: Trial {
            name: name("T1"),
            date: None,
            kind: TrialKind::Block,
            paper: name("bond 80"),
            thread: name("linen 25"),
            sewing: Sewing::new(10, 4, 1, 0).unwrap(),
            boned: false,
            guards: mm(0.0),
            hand: None,
            note: String::new(),
        },
        paper: Paper::new(name("bond 80"), mm(0.1), Hardness::Hard).unwrap(),
        thread: Thread::new(name("linen 25"), Material::Linen, count, None).unwrap(),
        config: Config { resolution: mm(0.01), ..Config::default() },
    }
}

fn subject(stock: &Stock) -> Subject<'_> {
    let Stock { trial, paper, thread, config } = stock;
    Subject { trial, paper, thread, state: State::Sewn, config, doubts: &|_| Vec::new() }
}

/// The bench after these lines, and the reply to the last one.
fn after<'b>(stock: &'b Stock, places: &[Place], lines: &[&str]) -> (Bench<'b>, Reply) {
    let mut bench = Bench::new(subject(stock), places.to_vec(), "");
    let mut reply = Reply::Quiet;
    for line in lines {
        reply = bench.take(line.as_bytes());
    }
    (bench, reply)
}

fn numbered() -> Vec<Place> {
    (1..=9).map(|n| n.to_string().parse().unwrap()).collect()
}

fn named() -> Vec<Place> {
    vec!["head".parse().unwrap(), "tail".parse().unwrap()]
}

fn rows(bench: &Bench<'_>) -> Vec<(String, Option<f64>, Option<f64>, String)> {
    let plain = |value: Option<Millimetres>| value.map(Millimetres::mm);
    let rows = bench.rows().unwrap();
    let row = |r: Reading| {
        (r.place.to_string(), plain(r.spine()), plain(r.fore_edge()), r.note.to_string())
    };
    rows.into_iter().map(row).collect()
}

#[test]
fn spines_come_first_and_fore_edges_join_them_by_place() {
    let stock = stock();
    let (bench, reply) =
        after(&stock, &numbered(), &["11.0", "11,1\t11.2", "done", "8.0;8.05", "done"]);
    assert_eq!(reply, Reply::Over);
    let wanted = [
        ("1".to_owned(), Some(11.0), Some(8.0), String::new()),
        ("2".to_owned(), Some(11.1), Some(8.05), String::new()),
        ("3".to_owned(), Some(11.2), None, String::new()),
    ];
    assert_eq!(rows(&bench), wanted);
}

#[test]
fn every_reading_is_said_with_the_mean_and_spread_so_far() {
    let stock = stock();
    let (_, reply) = after(&stock, &numbered(), &["11.0", "+0011.10mm"]);
    let wanted = "  spine at 2: 11.10 mm   (2 so far, mean 11.05 mm, spread 0.10 mm)";
    assert_eq!(reply, Reply::Said(wanted.to_owned()));
}

#[test]
fn undo_goes_back_over_the_edge_and_skip_leaves_a_place_out() {
    let stock = stock();
    let lines = ["11.0", "11.1", "done", "undo", "skip", "done", "8.0", "8.1"];
    let (bench, _) = after(&stock, &named(), &lines);
    let wanted = [
        ("head".to_owned(), Some(11.0), Some(8.0), String::new()),
        ("tail".to_owned(), None, Some(8.1), String::new()),
    ];
    assert_eq!(rows(&bench), wanted);
    let (_, reply) = after(&stock, &named(), &["undo"]);
    assert!(matches!(reply, Reply::Refused(_)));
}

#[test]
fn a_value_typed_in_tenths_is_asked_about_and_can_be_taken_as_meant() {
    let stock = stock();
    let (_, reply) = after(&stock, &named(), &["105"]);
    let Reply::Refused(text) = reply else { panic!("105 mm was taken") };
    assert!(text.ends_with("was it typed in tenths? (type yes to take 10.50 mm)"), "{text}");
    let (bench, _) = after(&stock, &named(), &["105", "", "yes"]);
    assert_eq!(rows(&bench)[0].1, Some(10.5));
    let (bench, reply) = after(&stock, &named(), &["105", "10.6", "yes"]);
    assert!(matches!(reply, Reply::Refused(_)) && rows(&bench).len() == 1);
}

#[test]
fn a_wrong_key_layout_is_offered_as_it_was_meant() {
    let stock = stock();
    let (bench, _) = after(&stock, &named(), &["&&:é(", "yes"]);
    assert_eq!(rows(&bench)[0].1, Some(11.25));
}

#[test]
fn a_line_is_taken_whole_or_not_at_all() {
    let stock = stock();
    let (bench, reply) = after(&stock, &named(), &["11.0;105"]);
    assert!(matches!(reply, Reply::Refused(text) if text.ends_with("line was taken")));
    assert!(rows(&bench).is_empty());
    let (bench, _) = after(&stock, &named(), &["11.0;11.1;11.2"]);
    assert!(rows(&bench).is_empty(), "three readings do not fit two places");
}

#[test]
fn a_fore_edge_twice_the_spine_is_refused() {
    let stock = stock();
    let (bench, reply) = after(&stock, &named(), &["4.0", "done", "8.5"]);
    assert!(matches!(reply, Reply::Refused(_)));
    assert_eq!(rows(&bench), [("head".to_owned(), Some(4.0), None, String::new())]);
}

#[test]
fn notes_and_tolerance_signs_stay_with_their_place() {
    let stock = stock();
    let (bench, _) = after(&stock, &named(), &["11.0<", "note Glue on the fold", "note dry"]);
    assert_eq!(rows(&bench)[0].3, "gauge sign < at the spine; Glue on the fold; dry");
    for line in ["note first", "note =1+1"] {
        let (_, reply) = after(&stock, &named(), &[line]);
        assert!(matches!(reply, Reply::Refused(_)), "{line}");
    }
    let long = format!("note {}", "x".repeat(600));
    let (_, reply) = after(&stock, &named(), &["11.0", &long]);
    assert!(matches!(reply, Reply::Refused(_)));
}

#[test]
fn the_prompt_says_edge_and_place() {
    let stock = stock();
    let prompt = |lines| after(&stock, &named(), lines).0.prompt();
    assert_eq!(prompt(&[]), "spine at head> ");
    assert_eq!(prompt(&["11.0", "done"]), "fore-edge at head> ");
    assert_eq!(prompt(&["11.0", "11.1"]), "spine, all places taken, done?> ");
}

#[test]
fn no_line_makes_it_panic() {
    let stock = stock();
    let long = "9".repeat(5000);
    for line in ["", "\0", "note", "NOTE É", "yes", "?", "done\r", "ERR6", long.as_str(), "é"] {
        let _ = after(&stock, &named(), &[line, line, "yes"]);
    }
    assert!(matches!(
        Bench::new(subject(&stock), named(), "").take(&[0xff, 0xfe]),
        Reply::Refused(text) if text.contains("not text")
    ));
}
