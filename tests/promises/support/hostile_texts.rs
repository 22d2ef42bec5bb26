//! Malicious texts, and the program called with them in this process, so that its output is seen
//! before any filter of colours.

use std::ffi::OsString;
use std::path::Path;
use swellbook::commands::run;
use swellbook::terminal::exit::ExitStatus;
use swellbook::terminal::session::{Streams, Surroundings};
use swellbook::units::steering;

/// Not names: texts that a spreadsheet takes for a formula. The signs are those of OWASP, "CSV
/// Injection", which also warns of a separator inside the text.
pub const FORMULAS: [&str; 20] = [
    "=cmd()",
    "=cmd|' /C calc'!A0",
    "+1+cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "＝1+1",
    "＋1",
    "－1",
    "＠x",
    "a;=cmd()",
    "x;=1+A1",
    "x;@1",
    "x;=9^9^9",
    "x;=0+'file:///etc/passwd'#$Sheet1.A1",
    "x|=1+1",
    "x; -1+A1",
    // A part that continues in the next field or the next name.
    "h;+1",
    "x; -.5",
    "x;-5%",
    "x|+1;y|-2",
];

/// Not names: invisible characters. Terminal codes of ECMA-48 (also in their 8-bit form), direction
/// marks of UAX #9, line ends, fillers, tags, and what XML 1.0 forbids.
pub const UNSEEN: [&str; 22] = [
    "a\u{1b}[2Jb",
    "a\u{1b}]0;title\u{7}b",
    "a\u{1b}[8mb",
    "a\u{9b}8mb",
    "a\u{0}b",
    "a\u{8}\u{8}b",
    "a\u{7f}b",
    "a\rb",
    "a\nb",
    "a\tb",
    "a\u{202e}b",
    "a\u{202a}b",
    "a\u{2066}b",
    "a\u{2069}b",
    "a\u{200f}b",
    "a\u{61c}b",
    "a\u{200b}b",
    "a\u{ad}b",
    "a\u{2028}b",
    "a\u{3164}b",
    "a\u{e0041}b",
    "a\u{fffe}b",
];

/// Names that are kept, and mean something only to a person.
pub const ODD: [&str; 16] = [
    "../../etc/passwd",
    "/etc/passwd",
    r"..\..\windows",
    "CON",
    "~",
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "x' onload='alert(1)",
    "&lt;b&gt; &amp; &#60;",
    "]]> <!-- --> <?x?>",
    "{{ 7 * 7 }} {% raw %}",
    "$(touch pwned) `touch pwned`",
    "; rm -rf ~",
    "%s%n%x {0} {}",
    "a\"b\"\"c",
    "עברית كتاب 楮紙",
];

/// A text of ten thousand characters.
pub fn long() -> String {
    "x".repeat(10_000)
}

/// The status of a run, and what it sent.
pub struct Sent {
    pub status: ExitStatus,
    pub out: String,
    pub err: String,
}

/// Runs the program in this folder. A person at a terminal types `input`, if there is any.
pub fn sent(folder: &Path, args: &[&str], input: &str) -> Sent {
    sent_with(folder, args, input, None, "2026-03-01")
}

/// The same with these values of `SWELLBOOK` and `SWELLBOOK_TODAY`.
pub fn sent_with(
    folder: &Path,
    args: &[&str],
    input: &str,
    book: Option<&str>,
    today: &str,
) -> Sent {
    let surroundings = Surroundings {
        folder: folder.to_owned(),
        book: book.map(Into::into),
        today: Some(today.to_owned()),
        terminal: !input.is_empty(),
        bell: false,
        width: 80,
        unicode: true,
    };
    let (mut input, mut out, mut err) = (input.as_bytes(), Vec::new(), Vec::new());
    let streams = Streams { input: &mut input, out: &mut out, err: &mut err };
    let words = std::iter::once("swellbook").chain(args.iter().copied()).map(OsString::from);
    let status = run(words, streams, surroundings);
    let text = |bytes| String::from_utf8(bytes).expect("text");
    let sent = Sent { status, out: text(out), err: text(err) };
    for stream in [&sent.out, &sent.err] {
        assert_harmless(stream, args);
    }
    sent
}

/// The colours that the program sends.
const COLOURS: [&str; 9] = ["0", "1", "4", "31", "32", "33", "36", "1;36", ""];

/// Fails if something would control a terminal, or if a very long text comes back at length.
fn assert_harmless(stream: &str, args: &[&str]) {
    let mut plain = stream.to_owned();
    for colour in COLOURS {
        plain = plain.replace(&format!("\u{1b}[{colour}m"), "");
    }
    let raw = plain.chars().find(|&c| c != '\n' && steering(c));
    assert!(raw.is_none(), "{raw:?} was sent by {args:?}: {stream:?}");
    assert!(!plain.contains(&"x".repeat(400)), "a long text was repeated by {args:?}");
}

/// A sheet whose row has the text in the column `column`.
pub fn sheet(column: &str, text: &str) -> String {
    let columns = ["trial", "date", "paper", "hardness", "caliper_mm", "thread", "laid_mm"];
    let rest = ["sections", "sheets", "hand", "place", "state", "spine_mm", "fore_edge_mm", "note"];
    let cells = ["S", "2026-01-05", "pp", "medium", "0.12", "tt", "0.5"];
    let more = ["10", "3", "", "1", "sewn", "9.9", "7.4", ""];
    let row = columns.iter().chain(&rest).zip(cells.iter().chain(&more));
    let field = |(name, cell): (&&str, &&str)| {
        format!("\"{}\"", (if *name == column { text } else { cell }).replace('"', "\"\""))
    };
    let row: Vec<String> = row.map(field).collect();
    format!("{}\n{}\n", [&columns[..], &rest].concat().join(","), row.join(","))
}

/// Fails if a cell of the file would be a formula, whatever separator a spreadsheet uses. A signed
/// number is allowed, and so is a text that begins with a number and a unit.
pub fn assert_no_formula(text: &str, name: &Path) {
    for mark in [b',', b';', b'\t', b'|'] {
        let mut reader = csv::ReaderBuilder::new();
        reader.delimiter(mark).has_headers(false).flexible(true).quoting(mark == b',');
        for record in reader.from_reader(text.as_bytes()).records() {
            for cell in &record.expect("a row") {
                let cell = cell.trim_matches(|c: char| c.is_whitespace() || "\"'".contains(c));
                let signed = cell.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']);
                let number = cell.replacen(',', ".", 1).parse::<f64>().is_ok();
                let unit = |(before, _): (&str, &str)| before.trim().parse::<f64>().is_ok();
                let with_unit = cell.split_once("mm").is_some_and(unit);
                assert!(!signed || number || with_unit, "{cell:?} in {}", name.display());
            }
        }
    }
}
