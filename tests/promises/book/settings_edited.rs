//! An edit of `book.toml` is reported by the audit and by the next command that writes. If the file
//! is cut short, it may have lost the unit of the book, so every command that opens the book says
//! so.

use crate::support::folder::Folder;
use crate::support::one_line;

/// How an edit changes the settings.
type Edit = fn(&str) -> String;

/// Each row has a name, an edit of the settings, and the words of the report.
const EDITS: &[(&str, Edit, &str)] = &[
    ("a belief", |text| format!("{text}\n[spreads]\npaper = 0.09\n"), "3 lines added"),
    ("another unit", |text| text.replace("\"mm\"", "\"in\""), "the number of lines is the same"),
    ("a comment", |text| text.replace("# What is believed", "# What I believe"), "is the same"),
];

const PAPER: [&str; 5] = ["record", "paper", "wove", "--caliper", "0.1mm"];

fn book() -> Folder {
    let folder = Folder::new();
    folder.run(&["init", ".", "--title", "A bench"]).ends(0);
    folder
}

#[test]
fn an_edit_of_the_settings_is_reported_once_by_a_command_that_writes() {
    for (case, edit, says) in EDITS {
        let folder = book();
        let said = "book.toml: changed outside swellbook since its last write: ";
        assert!(folder.run(&["audit"]).ends(0).out.contains("nothing suspect"), "{case}");
        folder.write("book.toml", edit(&folder.read("book.toml")));
        let audit = folder.run(&["audit"]).ends(0);
        let words = one_line(&audit.out);
        assert!(words.contains(said) && words.contains(says), "{case}: {}", audit.out);
        let read = folder.run(&[]).ends(0);
        assert!(!read.err.contains("book.toml"), "{case}: {}", read.err);
        let wrote = folder.run(&PAPER).ends(0);
        assert!(wrote.err.contains(said) && wrote.err.contains(says), "{case}: {}", wrote.err);
        let audit = folder.run(&["audit"]).ends(0);
        assert!(!audit.out.contains("book.toml"), "{case}: {}", audit.out);
        let again = folder.run(&["record", "target", "x", "1..2"]).ends(0);
        assert!(!again.err.contains("book.toml"), "{case}: {}", again.err);
    }
}

#[test]
fn an_edit_of_the_settings_can_be_accepted() {
    let folder = book();
    folder.write("book.toml", folder.read("book.toml").replace("A bench", "The bench"));
    let accepted = folder.run(&["audit", "--accept", "--strict"]).ends(0);
    assert!(accepted.err.contains("accepted: book.toml: changed"), "{}", accepted.err);
}

/// If the settings of a book in inches lost their last lines, it would read as one in millimetres.
#[test]
fn a_part_of_the_settings_is_reported_by_every_command() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", "in"]).ends(0);
    let whole = folder.read("book.toml");
    let at = |part: &str| whole.find(part).expect("a part of the settings");
    for cut in [at("# The unit"), at("# The smallest"), at("\n# What is believed") + 1] {
        folder.write("book.toml", &whole[..cut]);
        let said = "book.toml: shorter than it was";
        for args in [&[][..], &["audit"], &["audit", "--json"]] {
            let run = folder.run(args);
            assert!((run.out + &run.err).contains(said), "cut at {cut}: {args:?}");
        }
        folder.run(&["audit", "--strict"]).ends(3);
    }
    // The report stays until the file is restored or accepted.
    let wrote = folder.run(&PAPER).ends(0);
    assert!(wrote.err.contains("book.toml: shorter"), "{}", wrote.err);
    assert!(folder.run(&[]).ends(0).err.contains("book.toml: shorter"));
    folder.write("book.toml", &whole);
    assert!(folder.run(&["audit"]).ends(0).out.contains("nothing suspect"));
    folder.write("book.toml", &whole[..at("# The unit")]);
    let accepted = folder.run(&["audit", "--accept"]).ends(0);
    assert!(accepted.err.contains("accepted: book.toml: shorter"), "{}", accepted.err);
    assert!(folder.run(&[]).ends(0).err.is_empty());
}

/// Settings cut within a line are invalid, and the audit also reports the change.
#[test]
fn settings_torn_within_a_line_are_refused_and_reported_as_changed() {
    let folder = book();
    let whole = folder.read("book.toml");
    folder.write("book.toml", &whole[..whole.find("A bench").expect("the title") + 3]);
    folder.run(&[]).ends(3).complains_of(&["book.toml:5"]);
    let audit = folder.run(&["audit"]).ends(3);
    assert!(audit.out.contains("shorter than it was"), "{}", audit.out);
}
