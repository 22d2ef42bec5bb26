//! The forms of the page have the fields of the commands that they run.

use super::saved_plans::seen;
use crate::support::folder::Folder;
use crate::support::served::{Served, number};
use swellbook::commands::command_line;

/// What is recorded, its form, the form of its correction, and the options from which another
/// option's figure is worked out. A correction shows that figure instead.
const RECORDED: [(&str, &str, &str, &[&str]); 4] = [
    ("paper", "/paper", "/correct?kind=paper&was=bond+80", &["stack", "reading"]),
    ("thread", "/thread", "/correct?kind=thread&was=linen+25", &["wraps", "over"]),
    ("target", "/target", "/correct?kind=target&was=mine", &[]),
    ("trial", "/trial", "/correct?trial=T1", &[]),
];

/// A correction writes the fields of its form, so a column without a field would be lost.
#[test]
fn every_option_of_what_is_recorded_has_a_field_where_it_is_typed_and_corrected() {
    let folder = Folder::with_trial();
    folder.run(&["record", "target", "mine", "--low", "20%", "--high", "30%"]).ends(0);
    // The forms ask who sewed only once the book names a hand.
    folder.run(&["correct", "trial", "T1", "--hand", "Ann", "--reason", "a test"]).ends(0);
    let served = Served::open(&folder);
    let line = command_line();
    let record = line.find_subcommand("record").expect("a command");
    for (what, new, correction, measured) in RECORDED {
        let command = record.find_subcommand(what).expect("what is recorded");
        let options: Vec<&str> = command.get_arguments().filter_map(clap::Arg::get_long).collect();
        assert!(options.len() > 2, "{options:?}");
        for (page, without) in [(new, &[][..]), (correction, measured)] {
            let body = served.get(page).is(200).body;
            let missing = |option: &&&str| {
                !without.contains(*option) && !body.contains(&format!("name=\"{option}\""))
            };
            let missing: Vec<_> = options.iter().filter(missing).collect();
            assert!(missing.is_empty(), "{page} has no field for {missing:?}");
        }
    }
}

/// The explanations of the columns are written by hand; none may be missing.
#[test]
fn every_column_of_the_empty_sheet_is_explained_in_the_help_and_on_the_page() {
    let folder = Folder::with_trial();
    folder.run(&["import", "--template", "empty.csv"]).ends(0);
    let help = folder.run(&["import", "--help"]).ends(0).out;
    let page = Served::open(&folder).get("/import").is(200).body;
    let header = folder.read("empty.csv");
    let columns: Vec<&str> = header.lines().next().expect("a header").split(',').collect();
    assert!(columns.len() > 20, "{columns:?}");
    // Look only at the lists, because some column names are common words.
    let help = part(&help, "in any order:", "If a row has");
    let page = part(&page, "id=\"sheet-looks\"", "For the readings of two states");
    for (what, text) in [("import --help", help), ("/import", page)] {
        let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric() && c != '_').collect();
        let missing: Vec<_> = columns.iter().filter(|column| !words.contains(*column)).collect();
        assert!(missing.is_empty(), "{what} leaves out {missing:?}");
    }
}

fn part<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let (_, after) = text.split_once(from).expect(from);
    after.split_once(to).expect(to).0
}

/// A workbook is checked first and added by a second form, which has its cells as text.
#[test]
fn a_workbook_is_added_as_it_was_checked() {
    use crate::book::workbook_cells::xlsx_of;
    let folder = Folder::new();
    folder.run(&["init", "."]).ends(0);
    let served = Served::open(&folder);
    let row = |spine| {
        ["T1", "wove", "soft", "0,155", "linen", "0.55", "10", "3", "no", "sewn", spine, "9.6", ""]
    };
    let bytes = xlsx_of(&[row("13.1").to_vec(), row("13.2").to_vec()], "");
    let field = |name: &str, value: &str| {
        format!("--x\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n")
    };
    let file =
        "--x\r\nContent-Disposition: form-data; name=\"sheet\"; filename=\"log.xlsx\"\r\n\r\n";
    let own = field("token", &served.token()) + &field("number", &number(7));
    let own = own + &field("heading", "cost") + &field("column", "") + file;
    let body = [own.as_bytes(), &bytes, b"\r\n--x--\r\n"].concat();
    let ask = served.sends("/import", &number(7), &[]);
    let ask = ask.with("Content-Type", "multipart/form-data; boundary=x").body(body);
    let page = served.answer(&ask).is(200).says("Would add 1 paper, 1 thread, 1 trial, 2 readings");
    let hidden = |name: &str| {
        let after = page.body.split(&format!("name=\"{name}\" value=\"")).nth(1);
        after.expect("a field").split('"').next().expect("its end").to_owned()
    };
    let text = page.body.split("<textarea name=\"paste\" hidden>\n").nth(1).expect("the cells");
    let text = text.split("</textarea>").next().expect("their end").replace("&#34;", "\"");
    let fields = [
        ("name", &*hidden("name")),
        ("date-order", ""),
        ("heading", "cost"),
        ("column", ""),
        ("workbook", &*hidden("workbook")),
        ("add", "yes"),
        ("paste", &*text),
    ];
    served.answer(&served.sends("/import", &number(8), &fields)).is(303);
    assert!(folder.read("readings.csv").ends_with("T1,sewn,1,13.1,9.6,,\nT1,sewn,2,13.2,9.6,,\n"));
}

const PLAN: &str = "paper=bond+80&thread=linen+25&sheets=4&low=20&high=40";

#[test]
fn a_decimal_comma_is_understood_where_one_length_is_typed() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let part = "&sections=24&sewn=8&measured=sewn&spine-1=8,2&fore-edge-1=6,4";
    for (page, says) in [
        (format!("/plan?{PLAN}&leaves=160&fore-edge=16,4"), "chance of meeting"),
        (format!("/plan/way?{PLAN}&sections=20&fore-edge=16,4"), "chance of meeting"),
        (format!("/part-way?{PLAN}{part}&folded=19,9"), "id=\"odds\""),
    ] {
        let comma = seen(&served, &page);
        assert!(comma.contains(says), "{page}: {comma}");
        let point = page.replace("16,4", "16.4").replace("19,9", "19.9");
        // Seals of forms differ from page to page, and a link back has what was typed.
        let without = |page: &str| -> Vec<String> {
            let is_own = |line: &&str| line.contains("name=\"number\"") || line.contains("folded=");
            let lines = page.lines().filter(|line| !is_own(line));
            lines.map(str::to_owned).collect()
        };
        assert_eq!(without(&comma), without(&seen(&served, &point)), "{page}");
    }
}

/// A page has no options and no command line.
#[test]
fn what_is_missing_or_wrong_is_said_in_the_words_of_the_page() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    seen(&served, &format!("/plan/way?{PLAN}&sections=20"));
    let part = |sewn: &str| {
        format!("/part-way?{PLAN}&sections=10&sewn={sewn}&spine-1=9.7&fore-edge-1=7.5")
    };
    for (page, says) in [
        (format!("/plan/way?{PLAN}"), "fill in the sections, or the leaves or pages"),
        (
            format!("/plan/way?{PLAN}&sections=20").replace("=20&high", "=41&high"),
            "<h1>No prediction yet</h1>",
        ),
        (part("10"), "a finished book is recorded as a trial"),
        (part("0"), "no section is sewn yet"),
    ] {
        let body = served.get(&page).is(422).says(says).body;
        for word in ["--sections", "swellbook record", "swellbook predict", "cannot be sewn"] {
            assert!(!body.contains(word), "{word} at {page}");
        }
    }
}

#[test]
fn only_a_sheet_that_the_page_shows_can_be_changed_there() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let (token, own) = (served.token(), number(1));
    let part = |what: &str, bytes: &[u8]| {
        let head = format!("--x\r\nContent-Disposition: form-data; name={what}\r\n\r\n");
        [head.as_bytes(), bytes, b"\r\n"].concat()
    };
    // The first is in Latin-1.
    for (first, says) in
        [(&b"\xc41"[..], "Change them in the spreadsheet"), (b"A1", "Change them below or in")]
    {
        let sheet = [b"trial,paper,sections,sheets\n", first, b",bond 80,ten,4\n"].concat();
        let body = [
            part("token", token.as_bytes()),
            part("number", own.as_bytes()),
            part("sheet; filename=s.csv", &sheet),
            b"--x--\r\n".to_vec(),
        ];
        let ask = served
            .sends("/import", &own, &[])
            .with("Content-Type", "multipart/form-data; boundary=x");
        served.answer(&ask.body(body.concat())).is(422).says(says);
    }
}
