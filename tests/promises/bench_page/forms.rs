//! The forms of the page have the fields of the commands that they run.

use crate::support::folder::Folder;
use crate::support::served::Served;
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
