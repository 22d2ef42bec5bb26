//! A person who stops at a question, or answers nothing, reads what was kept.
//!
//! To add a row: the command, the earlier questions with their answers, and the question to stop
//! at.
#![cfg(unix)]

use crate::support::folder::{Folder, SEWN};
use crate::support::terminal::Terminal;

/// A command, the earlier questions with their answers, and the question to stop at.
type Row = (&'static [&'static str], &'static [(&'static str, &'static str)], &'static str);

const ROWS: &[Row] = &[
    (&["record", "paper"], &[], "name of the paper: "),
    (&["record", "paper"], &[("name of the paper: ", "wove"), ("weight in g/m", "80")], "[10]: "),
    (&["record", "paper", "wove"], &[("weight in g/m", "80"), ("[10]: ", "")], "over the stack: "),
    (&["record", "thread"], &[], "name of the thread: "),
    (&["record", "thread", "new"], &[("[linen]: ", "")], "lea 25/3 [leave out]: "),
    (&["record", "target"], &[], "name of the target: "),
    (&["record", "target", "limp"], &[], "both bounds as LOW..HIGH: "),
    (&["record", "trial"], &[], "[T2]: "),
    (
        &["record", "trial", "T2", "--sheets", "4"],
        &[("[today]: ", ""), ("[block]: ", "")],
        "[bond 80]: ",
    ),
    (&["record", "readings", "T1"], &[], "state (number or name)"),
    (&["strike", "trial"], &[("trial (number or name): ", "1")], "reason: "),
];

/// Questions with a default answer, which Enter takes.
fn has_default(question: &str) -> bool {
    question.contains('[') || question.starts_with("state")
}

/// How a person stops.
#[derive(Clone, Copy, Debug)]
enum Stop {
    CtrlC,
    CtrlD,
    Quit,
    Exit,
}

impl Stop {
    const ALL: [Self; 4] = [Self::CtrlC, Self::CtrlD, Self::Quit, Self::Exit];

    fn send(self, terminal: &mut Terminal) {
        match self {
            Self::CtrlC => terminal.send_control('c'),
            Self::CtrlD => terminal.send_control('d'),
            Self::Quit => terminal.send_line("quit"),
            Self::Exit => terminal.send_line("EXIT"),
        }
    }

    fn says(self) -> &'static str {
        match self {
            Self::CtrlD => "nothing was written",
            Self::CtrlC | Self::Quit | Self::Exit => "stopped; nothing was saved",
        }
    }
}

/// The program at the question of a row.
fn at_question(folder: &Folder, (args, before, question): &Row) -> Terminal {
    let mut terminal = Terminal::run_wide(folder, args);
    terminal.converse(before);
    terminal.expect(question);
    terminal
}

#[test]
fn whoever_stops_at_a_question_reads_that_nothing_was_saved() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    for row in ROWS {
        for stop in Stop::ALL {
            let mut terminal = at_question(&folder, row);
            stop.send(&mut terminal);
            let end = terminal.rest();
            assert!(end.contains(stop.says()), "{row:?}, {stop:?}: {end}");
            assert_eq!(folder.bytes(), before, "{row:?}, {stop:?}");
        }
    }
}

#[test]
fn enter_alone_gets_an_answer_where_there_is_no_default() {
    let folder = Folder::with_trial();
    for row in ROWS.iter().filter(|row| !has_default(row.2)) {
        let mut terminal = at_question(&folder, row);
        terminal.send_line("");
        terminal.expect("nothing was typed, and nothing is saved yet; answer, or type quit");
        terminal.expect(row.2);
        Stop::Quit.send(&mut terminal);
        terminal.rest();
    }
}

fn taking_readings(folder: &Folder, lines: &[&str]) -> Terminal {
    let mut terminal = Terminal::run_wide(folder, &SEWN);
    for line in lines {
        terminal.expect("> ");
        terminal.send_line(line);
    }
    terminal.expect("> ");
    terminal
}

/// A stopped measurement shows the readings that were taken, not only a sentence.
#[test]
fn whoever_stops_at_the_bench_reads_what_becomes_of_the_readings() {
    let rows = "they are, as trial,state,place,spine_mm,fore_edge_mm:\r\n  T1,sewn,1,11,";
    for (stop, taken, says, kept) in [
        (Stop::CtrlC, &[][..], "stopped; nothing was saved", 0),
        (Stop::CtrlC, &["11.0"], rows, 0),
        (Stop::CtrlD, &[], "no reading was taken; nothing was written", 0),
        (Stop::CtrlD, &["11.0", "11.1"], "recorded 2 readings of T1", 2),
        (Stop::Quit, &[], "stopped; nothing was saved", 0),
        (Stop::Quit, &["11.0", "quit"], rows, 0),
        (Stop::Exit, &["11.0", "done", "8.0", "quit"], "T1,sewn,1,11,8", 0),
    ] {
        let folder = Folder::with_trial();
        let mut terminal = taking_readings(&folder, taken);
        stop.send(&mut terminal);
        let end = terminal.rest();
        assert!(end.contains(says), "{stop:?} after {taken:?}: {end}");
        assert_eq!(folder.read("readings.csv").lines().count(), 1 + kept, "{stop:?} {taken:?}");
    }
}

/// A question after the readings does not lose them either.
#[test]
fn whoever_stops_at_a_question_about_readings_reads_them() {
    let folder = Folder::with_trial();
    folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.05");
    for stop in Stop::ALL {
        let mut terminal = taking_readings(&folder, &["11.0", "11.1", "done", "8.0", "8.05"]);
        terminal.send_line("done");
        terminal.expect("record them a second time: yes or no [no]: ");
        stop.send(&mut terminal);
        let end = terminal.rest();
        let rows = "the readings were not written; they are, as trial,state,place,spine_mm";
        assert!(end.contains(rows) && end.contains("T1,sewn,3,11,8"), "{stop:?}: {end}");
        assert_eq!(folder.read("readings.csv").lines().count(), 3, "{stop:?}");
    }
}

#[test]
fn stopping_must_be_confirmed_where_readings_would_be_lost() {
    let folder = Folder::with_trial();
    let mut terminal = taking_readings(&folder, &["11.0", ""]);
    terminal.send_line("quit");
    terminal.expect("1 reading taken, not written yet: done goes on to write, quit again");
    // Any other line cancels the first quit.
    for line in ["11.1", "quit"] {
        terminal.send_line(line);
    }
    terminal.expect("2 readings taken, not written yet: done goes on");
    for line in ["done", "8.0", "8.1", "done"] {
        terminal.send_line(line);
    }
    let end = terminal.rest();
    assert!(end.contains("recorded 2 readings of T1"), "{end}");
}

#[test]
fn an_empty_line_at_the_bench_says_what_is_taken() {
    let folder = Folder::with_trial();
    let mut terminal = taking_readings(&folder, &[""]);
    // The reply to the empty line came before the second prompt.
    terminal.send_line("11.0");
    terminal.expect("> ");
    terminal.send_line("");
    terminal.expect("nothing was typed; 1 reading taken, not written yet (? explains");
    terminal.expect("> ");
    terminal.send_control('c');
    terminal.rest();
}
