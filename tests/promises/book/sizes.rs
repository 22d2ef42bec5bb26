//! Large books and sheets: the program can read what it wrote, and reading a sheet takes little
//! memory.
#![cfg(unix)]

use crate::support::folder::{Folder, PROGRAM};

const MOST_ROWS: usize = 4_194_304;

const PAPER: [&str; 7] = ["record", "paper", "laid", "--caliper", "0.13mm", "--hardness", "soft"];

/// A book whose papers have this many rows, nearly all of them blank.
fn with_rows(rows: usize) -> Folder {
    let folder = Folder::with_trial();
    let text = folder.read("papers.csv");
    let (last, blank) = (text.lines().last().expect("a row"), rows - text.lines().count() - 1);
    let other = last.replace("bond 80", "wove");
    folder.write("papers.csv", format!("{text}{}{other}\n", "\n".repeat(blank)));
    folder
}

#[test]
fn a_row_that_would_not_be_read_back_is_not_written() {
    let folder = with_rows(MOST_ROWS - 1);
    folder.run(&PAPER).ends(0);
    let before = folder.bytes();
    let mut another = PAPER;
    another[2] = "rag";
    folder.run(&another).ends(3).complains_of(&[
        "papers.csv would grow beyond the limit of 4194304 rows",
        "nothing was saved",
        "swellbook init",
    ]);
    assert_eq!(folder.bytes(), before);
    folder.run(&["audit"]).ends(0);
    // The other files have room.
    folder.run(&["record", "target", "next", "1..2"]).ends(0);
}

/// Two sheets of the largest size may be imported one after the other.
#[test]
fn a_book_may_grow_beyond_what_one_sheet_holds() {
    let folder = with_rows(1_500_000);
    folder.run(&PAPER).ends(0);
    folder.run(&["audit"]).ends(0);
    let text = folder.read("threads.csv");
    let mut lines = text.lines();
    let (header, row) = (lines.next().expect("a header"), lines.next().expect("a row"));
    let (names, cells) = (",mine".repeat(150), format!(",{}", "x".repeat(4000)).repeat(150));
    let names: String =
        names.split(',').skip(1).zip(1..).map(|(n, k)| format!(",{n}{k}")).collect();
    let mut wide = format!("{header}{names}\n{row}{cells}\n");
    for number in 1..=112 {
        wide += &format!("{}{cells}\n", row.replace("linen 25", &format!("linen {number}b")));
    }
    assert!(wide.len() > 64 << 20, "{}", wide.len());
    folder.write("threads.csv", wide);
    folder.run(&["record", "thread", "flax", "--count", "lea 18/3"]).ends(0);
    folder.run(&["audit"]).ends(0);
}

/// A sheet of 12 MiB whose rows are as short as they can be.
#[test]
fn a_large_sheet_is_imported_in_little_memory() {
    const MOST_KIB: usize = 448 * 1024;
    let folder = Folder::with_trial();
    let (header, row) = ("trial,state,spine_mm,fore_edge_mm\n", "T1,sewn,12,8\n");
    folder.write("sheet.csv", header.to_owned() + &row.repeat((12 << 20) / row.len()));
    for dry in ["--dry-run", ""] {
        let mut command = folder.command("sh");
        let script = format!("ulimit -v {MOST_KIB} && exec '{PROGRAM}' import sheet.csv {dry}");
        let output = command.args(["-c", &script]).output().expect("a shell");
        let (out, err) = (output.stdout, String::from_utf8_lossy(&output.stderr));
        assert_eq!(output.status.code(), Some(0), "{dry}: {err}");
        assert!(String::from_utf8_lossy(&out).contains("967916 readings"), "{dry}");
    }
}
