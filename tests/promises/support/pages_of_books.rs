//! Reports and bench cards of books of every kind, each made once by the program.

use crate::support::folder::Folder;
use std::sync::OnceLock;

const COLUMNS: &str = "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,on,ends,\
                       boned,state,spine_mm,fore_edge_mm,note\n";

/// A trial measured as sewn and knocked down, with three sheets to a section.
fn rows(trial: &str, date: &str, paper: &str, thread: &str, factor: f64) -> String {
    let fore_edge = 10.0 * 6.0 * 0.12 * 1.04;
    let row = |(state, share): (&str, f64)| {
        let spine = fore_edge + 10.0 * 0.5 * share;
        format!(
            "{trial},{date},{paper},medium,0.12,{thread},0.5,10,3,1,0,no,{state},{spine:.2},\
             {fore_edge:.2},\n"
        )
    };
    [("sewn", factor), ("knocked", factor - 0.1)].map(row).concat()
}

/// The page of a book with this sheet.
fn of_sheet(title: &str, sheet: &str, report: &[&str]) -> String {
    let folder = Folder::new();
    folder.run(&["init", ".", "--title", title]).ends(0);
    folder.write("sheet.csv", sheet);
    folder.run(&["import", "sheet.csv"]).ends(0);
    folder.run(&[&["report", "--out", "-"], report].concat()).ends(0).out
}

/// Every other paper is only folded, because leaving out sixty sewings in turn takes long.
fn sixty() -> String {
    let paper = |at: usize| {
        let name =
            format!("handmade cotton and linen rag of the {at:02}th making waterleaf deckled");
        assert!(name.len() > 60);
        let date = format!("2026-01-{:02}", at % 28 + 1);
        let (trial, factor) = (format!("P{at:02}"), 0.4 + 0.005 * at as f64);
        match at % 2 {
            0 => rows(&trial, &date, &name, "linen 25", factor),
            _ => format!(
                "{trial},{date},{name},medium,0.12,linen 25,0.5,10,3,1,0,no,unsewn,7.6,7.5,\n"
            ),
        }
    };
    COLUMNS.to_owned() + &(0..60).map(paper).collect::<String>()
}

const SCRIPT: &str = "<script>alert(1)</script>";
const IMAGE: &str = "\"\"><img src=x onerror=alert(1)>";

/// A sheet of names that look like markup, as CSV fields.
fn markup() -> String {
    let trial = |name: &str, paper: &str, factor| {
        rows(name, "2026-01-05", paper, &format!("\"<b>{SCRIPT}</b>\""), factor)
    };
    let quoted = format!("\"{IMAGE}\"");
    [
        COLUMNS,
        &trial("<b>1</b>", SCRIPT, 0.5),
        &trial("T2 & <i>", &quoted, 0.55),
        &trial("T3", SCRIPT, 0.6),
        &trial("T4'", "a &amp; b", 0.6),
    ]
    .concat()
}

const MIXED: &str = "title = 'Heron & <b>Tern</b>, two volumes in one'
target = 'rounded-backed'
guards = 'tissue=0.02mm,per-section=1'

[[run]]
paper = 'Alder bond'
thread = 'flax 25/3'
sections = 18
sheets = 4

[[run]]
paper = 'Tern wove'
thread = 'flax 40/3'
leaves = 94
sheets = 4
on = 3
ends = 1
boned = true

[[run]]
paper = 'Kelp mould'
thread = 'flax 18/3'
sections = 5
sheets = 2
";

/// A book with as many and as long names as the sheet takes, in a folder with a long name.
fn crowded() -> (Folder, String) {
    let folder = Folder::new();
    let dir = format!("a book of {}", "long names and ".repeat(6));
    let run = |rest: &[&str]| folder.run(&[&["--book", &dir], rest].concat()).ends(0);
    folder.run(&["init", &dir, "--title", &"Heron & <b>Tern</b> ".repeat(4)]).ends(0);
    for at in 0..12 {
        let name = format!("{at:02} handmade & <i>laid</i>");
        run(&["record", "paper", &name, "--caliper", "0.12mm"]);
        run(&["record", "thread", &name, "--laid", "0.5mm"]);
    }
    (folder, dir)
}

/// Every sheet of paper for the bench, by name, on A4 and letter.
pub fn papers() -> &'static [(&'static str, String)] {
    static PAPERS: OnceLock<Vec<(&str, String)>> = OnceLock::new();
    PAPERS.get_or_init(|| {
        let (none, (crowded, dir)) = (Folder::new(), crowded());
        let of = |folder: &Folder, rest: &[&str]| {
            folder.run(&[rest, &["--out", "-"]].concat()).ends(0).out
        };
        let named = ["--book", &dir, "report", "--blank", "--paper-size"];
        vec![
            ("blank-a4", of(&none, &["report", "--blank", "--paper-size", "a4"])),
            ("blank-letter", of(&none, &["report", "--blank", "--paper-size", "letter"])),
            ("guide-a4", of(&none, &["report", "--guide", "--paper-size", "a4"])),
            ("guide-letter", of(&none, &["report", "--guide", "--paper-size", "letter"])),
            ("crowded-a4", of(&crowded, &[&named[..], &["a4"]].concat())),
            ("crowded-letter", of(&crowded, &[&named[..], &["letter"]].concat())),
        ]
    })
}

fn make() -> Vec<(&'static str, String)> {
    let tour = Folder::toured();
    tour.write("mixed.toml", MIXED);
    let report =
        |rest: &[&str]| tour.on_tour(&[&["report", "--out", "-"], rest].concat()).ends(0).out;
    let plan = ["--paper", "Alder bond", "--thread", "flax 25/3", "--sections", "24"];
    let plan = [&plan[..], &["--sheets", "4", "--on", "2", "--ends", "3"]].concat();
    let card = report(&[&plan[..], &["--target", "rounded", "--height", "210mm"]].concat());
    let along = ["--paper", "Quay laid", "--thread", "flax 18/3", "--sections", "40"];
    let along = report(&[&along[..], &["--sheets", "3", "--target", "12..22"]].concat());
    let empty = Folder::with_book();
    let one = COLUMNS.to_owned() + &rows("T1", "2026-01-05", "bond", "linen 25", 0.5);
    let thread = format!("<b>{SCRIPT}</b>");
    let of_markup = ["--paper", SCRIPT, "--thread", &thread, "--sections", "9", "--sheets", "3"];
    let title = format!("A book of {SCRIPT}");
    vec![
        ("demonstration", report(&[])),
        ("card", card),
        ("mixed-card", report(&["--plan", "mixed.toml"])),
        ("all-along-card", along),
        ("empty", empty.run(&["report", "--out", "-"]).ends(0).out),
        ("one-trial", of_sheet("One trial", &one, &[])),
        ("sixty-papers", of_sheet("Sixty papers", &sixty(), &[])),
        ("markup", of_sheet(&title, &markup(), &[])),
        ("markup-card", of_sheet(&title, &markup(), &of_markup)),
    ]
}

pub fn all() -> &'static [(&'static str, String)] {
    static PAGES: OnceLock<Vec<(&str, String)>> = OnceLock::new();
    PAGES.get_or_init(make)
}

pub fn page(name: &str) -> &'static str {
    let found = all().iter().find(|(known, _)| *known == name);
    &found.unwrap_or_else(|| panic!("no page {name}")).1
}
