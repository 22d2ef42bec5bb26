//! Names that look like markup stay text in pages, pictures and JSON. A parser that is not ours
//! reads each of them back.

use crate::pages::charts::plain_kinds;
use crate::support::folder::Folder;
use crate::support::hostile_texts::{ODD, sent};
use roxmltree::{Document, Node};
use std::path::Path;
use std::sync::OnceLock;
use swellbook::terminal::exit::ExitStatus;

/// A title with everything that some kind of text must escape.
const TITLE: &str = "</title><script>alert(1)</script> ]]> & \"'";

fn field(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// The odd names, shared out to each trial, its paper, its thread and its hand.
fn shared() -> [[&'static str; 4]; 4] {
    std::array::from_fn(|trial| std::array::from_fn(|what| ODD[4 * what + trial]))
}

/// A sheet in which every name is odd: four trials, in two states.
fn sheet() -> String {
    let mut sheet = "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,hand,\
                     place,state,spine_mm,fore_edge_mm,note\n"
        .to_owned();
    for (index, names) in shared().into_iter().enumerate() {
        let [trial, paper, thread, hand] = names.map(field);
        for (state, spine) in [("sewn", 10.0), ("knocked", 9.5)] {
            let spine = spine + 0.05 * index as f64;
            sheet += &format!(
                "{trial},2026-01-{:02},{paper},medium,0.12,{thread},0.5,10,3,{hand},{paper},{state},\
                 {spine:.2},7.4,{thread}\n",
                index + 1
            );
        }
    }
    sheet
}

fn odd() -> &'static Path {
    static BOOK: OnceLock<Folder> = OnceLock::new();
    let folder = BOOK.get_or_init(|| {
        let folder = Folder::new();
        folder.write("sheet.csv", sheet());
        for args in [&["init", ".", "--title", TITLE][..], &["import", "sheet.csv"]] {
            let sent = sent(folder.path(), args, "");
            assert_eq!(sent.status, ExitStatus::Done, "{}", sent.err);
        }
        folder
    });
    folder.path()
}

/// The program's output for the odd book.
#[track_caller]
fn said(args: &[&str]) -> String {
    let sent = sent(odd(), args, "");
    assert_eq!(sent.status, ExitStatus::Done, "{args:?}: {}", sent.err);
    sent.out
}

/// A planned book with the stock of this trial.
fn planned(index: usize) -> [String; 6] {
    let [_, paper, thread, hand] = shared()[index];
    [
        format!("--paper={paper}"),
        format!("--thread={thread}"),
        format!("--hand={hand}"),
        "--sections=12".to_owned(),
        "--sheets=3".to_owned(),
        "--target=rounded".to_owned(),
    ]
}

#[track_caller]
fn said_of(command: &[&str], index: usize) -> String {
    let planned = planned(index);
    said(&command.iter().copied().chain(planned.iter().map(String::as_str)).collect::<Vec<_>>())
}

/// The one script that a page may have.
fn is_search(node: &Node<'_, '_>) -> bool {
    let script = include_str!("../../../templates/report.js");
    node.has_tag_name("script") && node.text() == Some(script.trim_end())
}

/// Fails if an element or attribute could run or fetch something, except for the search.
fn assert_inert(document: &Document<'_>) {
    let scripts = document.descendants().filter(|node| is_search(node)).count();
    assert!(scripts <= 1, "{scripts} scripts");
    for node in document.descendants().filter(Node::is_element).filter(|node| !is_search(node)) {
        let tag = node.tag_name().name();
        let bad = ["script", "img", "iframe", "object", "embed", "link", "foreignObject", "b"];
        assert!(!bad.contains(&tag), "<{tag}>");
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(!name.starts_with("on") && name != "src", "{tag} {name}={value}");
            let inside = name != "href" || value.starts_with('#');
            assert!(inside && !value.contains("javascript:"), "{tag} {name}={value}");
        }
    }
}

/// All text of a document, without the style sheet.
fn text(document: &Document<'_>) -> String {
    let words = document.descendants().filter(|node| {
        let is_code = |above: Node<'_, '_>| ["style", "script"].contains(&above.tag_name().name());
        node.is_text() && !node.ancestors().any(is_code)
    });
    words.filter_map(|node| node.text()).collect::<Vec<_>>().join("\n").replace('\u{a0}', " ")
}

/// HTML made into XML: the one element without an end is closed, and the document type removed. A
/// page that is valid XML means the same to a browser, whose rules are laxer.
fn as_xml(html: &str) -> String {
    let lines = html.lines().map(|line| match line.strip_suffix('>') {
        Some(meta) if line.starts_with("<meta") => format!("{meta}/>"),
        _ => line.replace("<!DOCTYPE html>", ""),
    });
    lines.collect::<Vec<_>>().join("\n")
}

#[track_caller]
fn parsed(xml: &str) -> Document<'_> {
    Document::parse(xml).unwrap_or_else(|error| panic!("{error}: {xml}"))
}

#[test]
fn names_are_text_in_a_report() {
    let paper = shared()[2][1].replace('"', "\"\"");
    let question = format!("paper=\"{paper}\",leaves=90,target=rounded");
    for args in [&["report", "--out=-"][..], &["report", "--out=-", "--in-mind", &question]] {
        let html = as_xml(&said(args));
        let page = parsed(&html);
        assert_inert(&page);
        let text = text(&page);
        for name in shared().iter().flat_map(|names| &names[..3]) {
            assert!(text.contains(name), "{name} is not in the page");
        }
        let title = page.descendants().find(|node| node.has_tag_name("title")).expect("a title");
        assert_eq!(title.text(), Some(TITLE));
    }
}

#[test]
fn names_are_text_on_a_bench_card() {
    let folder = odd();
    for (index, [_, paper, thread, _]) in shared().into_iter().enumerate() {
        let html = as_xml(&said_of(&["report", "--out=-"], index));
        let page = parsed(&html);
        assert_inert(&page);
        assert!(text(&page).contains(paper) && text(&page).contains(thread), "{paper} {thread}");
    }
    let value = |text: &str| toml::Value::from(text).to_string();
    let plan = format!(
        "title = {}\ntarget = \"rounded\"\n[[run]]\npaper = {paper}\nthread = {thread}\nsections = 9\n\
         sheets = 3\n",
        value(TITLE),
        paper = value(shared()[1][1]),
        thread = value(shared()[1][2])
    );
    std::fs::write(folder.join("plan.toml"), plan).unwrap();
    let html = as_xml(&said(&["report", "--out=-", "--plan=plan.toml"]));
    let page = parsed(&html);
    assert_inert(&page);
    assert!(text(&page).contains(&format!("Bench card: {TITLE}")));
}

#[test]
fn names_are_text_in_pictures() {
    for kind in plain_kinds() {
        let svg = said(&["chart", &kind, "--out=-"]);
        let picture = parsed(&svg);
        assert_inert(&picture);
        assert_eq!(picture.root_element().tag_name().name(), "svg");
        // These pictures have the names of papers; a long one may be cut or broken.
        let text = text(&picture);
        let named = ["knockdown", "factors", "residuals"].contains(&&*kind);
        for [_, paper, ..] in shared().into_iter().filter(|_| named) {
            let start: String = paper.chars().take(6).collect();
            assert!(text.contains(&start), "{paper} is not in {kind}: {text}");
        }
    }
    for [_, paper, ..] in shared() {
        let paper = format!("--paper={paper}");
        let args = ["chart", "plan", &paper, "--leaves=90", "--target=rounded", "--out=-"];
        let svg = said(&args);
        assert_inert(&parsed(&svg));
        let svg = said(&["chart", "swell", &paper, "--out=-"]);
        let picture = parsed(&svg);
        assert_inert(&picture);
        let text = text(&picture);
        for [_, _, thread, _] in shared() {
            let start: String = thread.chars().take(6).collect();
            assert!(text.contains(&start), "{thread} is not in {text}");
        }
    }
}

/// Every text value and key of a JSON document.
fn strings<'v>(value: &'v serde_json::Value, found: &mut Vec<&'v str>) {
    match value {
        serde_json::Value::String(text) => found.push(text),
        serde_json::Value::Array(values) => values.iter().for_each(|value| strings(value, found)),
        serde_json::Value::Object(map) => map.iter().for_each(|(key, value)| {
            found.push(key);
            strings(value, found);
        }),
        _ => {}
    }
}

#[test]
fn names_come_out_of_json_as_they_went_in() {
    let fit: serde_json::Value = serde_json::from_str(&said(&["fit", "--json"])).expect("JSON");
    let mut found = Vec::new();
    strings(&fit, &mut found);
    for name in shared().iter().flat_map(|names| &names[1..3]) {
        assert!(found.contains(name), "{name}");
    }
    for (index, [_, paper, ..]) in shared().into_iter().enumerate() {
        let json = said_of(&["predict", "--json"], index);
        let value: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        let mut found = Vec::new();
        strings(&value, &mut found);
        assert!(found.contains(&paper), "{paper}: {json}");
    }
}

/// The program's other output about the odd book. Every run checks what is sent.
#[test]
fn odd_names_stand_in_tables_and_sentences() {
    for args in [&[][..], &["audit"], &["audit", "--json"], &["fit"], &["fit", "--compare"]] {
        said(args);
    }
    for index in 0..shared().len() {
        said_of(&["predict"], index);
    }
    let tables = said(&["fit"]);
    assert!(tables.contains("<script>alert(1)</script>"), "{tables}");
    assert!(said(&["import", "sheet.csv"]).contains("8 readings already in the book"));
}
