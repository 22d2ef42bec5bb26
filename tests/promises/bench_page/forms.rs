//! The forms of the page have the fields of the commands that they run.

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
