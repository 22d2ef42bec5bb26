//! Faults in a file or a sheet are reported in the unit of the book, beside what the cell holds.
//!
//! To add a row: the unit of the book, the cells of a block's spine and fore-edge, and what the
//! program must say.

use crate::support::folder::Folder;
use crate::support::one_line;

const ROWS: &[(&str, [&str; 2], &str)] = &[
    ("inch", ["0.4in", "0.9in"], "spine 0.4 in is thinner than half the fore-edge 0.9 in"),
    (
        "inch",
        ["0.9", "0.4in"],
        "spine 0.9 mm (0.0354 in) is thinner than half the fore-edge 0.4 in",
    ),
    ("inch", ["90in", "0.4in"], "90 in is outside 0.002..15.748 in"),
    ("inch", ["999", "0.4in"], "999 mm (39.3307 in) is outside 0.002..15.748 in"),
    ("inch", ["0.5", "0.4"], "spine 0.5 mm (0.0197 in) is outside 0.1335..1.5 in"),
    ("inch", ["3in", "2.5in"], "spine 3 in is outside 0.1335..1.5 in"),
    ("thou", ["400thou", "900thou"], "spine 400 thou is thinner than half the fore-edge 900 thou"),
    ("mm", ["0.4in", "0.9in"], "spine 10.16 mm is thinner than half the fore-edge 22.86 mm"),
    ("mm", ["999", "10"], "999 mm is outside 0.05..400 mm"),
];

/// The unit of the book, a caliper as typed, and what was probably meant.
const MEANT: &[(&str, &str, &str)] = &[
    ("inch", "0.1", "is it in millimetres? Then write 0.1mm"),
    ("inch", "4", "is it in thousandths of an inch? Then write 4thou"),
    ("inch", "105", "is it in micrometres? Then write 105um"),
    ("mm", "4", "is it in thousandths of an inch? Then write 4thou"),
    ("mm", "105", "is it in micrometres? Then write 105um"),
    ("mm", "0.004", "is it in inches? Then write 0.004in"),
    ("mm", "12in", "is it in thousandths of an inch? Then write 12thou"),
    ("mm", "5cm", "is it in thousandths of an inch? Then write 5thou"),
    ("inch", "9mm", "is it in thousandths of an inch? Then write 9thou"),
];

#[test]
fn a_length_that_is_possible_in_another_unit_gets_a_guess() {
    for (unit, caliper, guess) in MEANT {
        let folder = Folder::new();
        folder.run(&["init", ".", "--unit", unit]).ends(0);
        let paper = ["record", "paper", "wove", "--hardness", "hard", "--caliper"];
        folder.run(&[&paper[..], &[caliper]].concat()).ends(3).complains_of(&["--caliper", guess]);
        let told = guess.rsplit(' ').next().expect("what to write");
        folder.run(&[&paper[..], &[told]].concat()).ends(0);
    }
}

/// What to write instead has the number as it was typed, in a list too.
#[test]
fn the_guess_for_a_fore_edge_keeps_the_number_that_was_typed() {
    let folder = Folder::with_trial();
    let book = ["predict", "--paper=bond 80", "--thread=linen 25", "--sections=20", "--sheets=4"];
    for (typed, guess) in [
        ("20in", "508 mm is outside 0.05..400 mm; is it in millimetres? Then write 20mm"),
        (
            "20.1;50cm",
            "500 mm is outside 0.05..400 mm; is it in thousandths of an inch? Then write 50thou",
        ),
        ("508", "is it in thousandths of an inch? Then write 508thou"),
    ] {
        let run = folder.run(&[&book[..], &["--fore-edge", typed]].concat());
        run.ends(3).complains_of(&["--fore-edge: ", guess]);
    }
}

/// A book in `unit` with a paper, a thread and a trial of ten sections of four sheets.
fn book(unit: &str) -> Folder {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", unit]).ends(0);
    let paper = ["record", "paper", "wove", "--caliper", "0.005in", "--hardness", "hard"];
    folder.run(&paper).ends(0);
    folder.run(&["record", "thread", "linen", "--laid", "0.02in"]).ends(0);
    let sewing = ["--paper", "wove", "--thread", "linen", "--sections", "10", "--sheets", "4"];
    folder.run(&[&["record", "trial", "T1", "--on", "all along"], &sewing[..]].concat()).ends(0);
    folder
}

#[test]
fn faults_in_a_sheet_are_reported_in_the_unit_of_the_book() {
    for (unit, [spine, fore_edge], says) in ROWS {
        let folder = book(unit);
        folder.write(
            "s.csv",
            format!("trial,state,spine_mm,fore_edge_mm\nT1,sewn,{spine},{fore_edge}\n"),
        );
        folder.run(&["import", "s.csv"]).ends(3).complains_of(&["s.csv:2", says]);
    }
}

#[test]
fn faults_in_a_file_of_the_book_are_reported_in_its_unit() {
    for (unit, [spine, fore_edge], says) in ROWS {
        let folder = book(unit);
        let row = format!("T1,sewn,head,{spine},{fore_edge},2026-01-01,\n");
        folder.write("readings.csv", folder.read("readings.csv") + &row);
        let audit = folder.run(&["audit"]);
        let said = one_line(&(audit.out + &audit.err));
        assert!(said.contains(says), "{unit} {spine} {fore_edge}: {said}");
    }
}

#[test]
fn differences_between_book_and_sheet_are_reported_in_the_unit_of_the_book() {
    let folder = book("inch");
    folder.measure("T1", "sewn", "0.9", "0.7");
    let header = "trial,state,place,spine_mm,fore_edge_mm,caliper_mm\n";
    folder.write("s.csv", format!("{header}T1,sewn,1,0.91in,0.7in,0.006in\n"));
    folder.run(&["import", "s.csv"]).ends(3).complains_of(&[
        "paper 'wove' has 0.006 in here, but the book says 0.005 in",
        "with spine 0.9 in and fore-edge 0.7 in, not 0.91 in and 0.7 in",
    ]);
}
