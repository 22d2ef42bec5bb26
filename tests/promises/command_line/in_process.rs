//! A command called inside a test does and says the same as in a process of its own.

use crate::support::folder::{Folder, Run};
use std::collections::BTreeSet;

/// Commands that work, and that fail in each way, with their standard input.
const LINES: [(&[&str], &str); 29] = [
    (&["--version"], ""),
    (&[], ""),
    (&["init", "new", "--title", "a \u{e9}"], ""),
    (&["init", "new"], ""),
    (&["recrod"], ""),
    (&["fit", "--jsn"], ""),
    (&["record", "paper"], ""),
    (&["record", "paper", "=x", "--caliper", "0.1mm"], ""),
    (&["record", "paper", "laid", "--caliper", "0.13mm", "--hardness", "soft"], ""),
    (&["record", "target", "low", "--low", "-2", "--high", "10%"], ""),
    (&["strike", "paper", "laid", "--reason", "twice"], ""),
    (&["undo"], ""),
    (&["correct", "paper", "laid", "--caliper", "0.14mm"], ""),
    (&["import", "-", "--dry-run"], "paper,caliper_mm\nwove,0.1\n"),
    (&["import", "-"], "trial,state\nnone,sewn\n"),
    (&["import", "-"], "\u{1}\u{2}"),
    (&["import", "none.csv"], ""),
    (&["audit"], ""),
    (&["audit", "--strict", "--json"], ""),
    (&["fit"], ""),
    (&["fit", "--json"], ""),
    (&["predict", "--paper", "none"], ""),
    (&["predict", "--paper", "Alder bond", "--thread", "flax 25/3", "--leaves", "160"], ""),
    (&["export", "--observations"], ""),
    (&["chart", "factors", "--out", "factors.png"], ""),
    (&["chart", "factors", "--out", "factors.pdf"], ""),
    (&["chart", "factors", "--out", "/dev/full"], ""),
    (&["report", "--out", "-"], ""),
    (&["backup", "kept.tar"], ""),
];

/// The exit code and output of a run, without the path of its folder.
fn said(run: &Run, folder: &Folder) -> (i32, [String; 2]) {
    let here = folder.path().to_string_lossy();
    (run.code, [&run.out, &run.err].map(|text| text.replace(&*here, "~")))
}

#[test]
fn a_command_that_is_called_does_what_it_does_in_a_process() {
    let [called, started] = [Folder::toured(), Folder::toured()];
    let mut codes = BTreeSet::new();
    for (line, input) in LINES {
        let line = [&["--book", "tour"], line].concat();
        let as_called = said(&called.run_with(&line, input.as_bytes()), &called);
        let as_started = said(&started.start_with(&line, input.as_bytes()), &started);
        assert_eq!(as_called, as_started, "{line:?}");
        assert!(called.holds() == started.holds(), "{line:?} leaves other files");
        codes.insert(as_called.0);
    }
    assert!(codes.is_superset(&[0, 1, 2, 3].into()), "{codes:?}");
}
