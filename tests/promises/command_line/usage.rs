//! A command line that is not understood is answered in the program's own words, with what to type.
//!
//! To add a row: the words after `swellbook`, and what the answer must say.

use crate::support::folder::Folder;
use crate::support::one_line;

/// What is typed, and what the answer says.
const ROWS: &[(&[&str], &[&str])] = &[
    // Words of the bench in place of commands.
    (&["list"], &["no command 'list'", "`swellbook show` shows what the book holds"]),
    (&["papers"], &["use `swellbook show papers`"]),
    (&["record", "list"], &["`swellbook show` shows what the book holds"]),
    (&["manual"], &["no command 'manual'", "`swellbook --help`"]),
    (&["completion"], &["use `swellbook completions`"]),
    (&["delete"], &["`swellbook strike`", "`swellbook undo`"]),
    (&["edit"], &["`swellbook correct`"]),
    (&["redo"], &["`swellbook undo --redo`"]),
    (&["correct"], &["swellbook correct needs one of paper, thread, target, trial, reading"]),
    (&["delete", "trial", "T1"], &["`swellbook strike`"]),
    (&["trial"], &["use `swellbook record trial`"]),
    (&["check"], &["use `swellbook audit`"]),
    (&["forecast"], &["use `swellbook predict`"]),
    (&["merge"], &["use `swellbook pool`"]),
    (&["priors"], &["use `swellbook beliefs`"]),
    (&["new"], &["use `swellbook init`"]),
    (&["archive"], &["use `swellbook backup`"]),
    (&["guide"], &["use `swellbook report --guide`"]),
    (&["blank"], &["use `swellbook report --blank`"]),
    (&["record", "yarn"], &["use `swellbook record thread`"]),
    (&["chart", "trend"], &["use `swellbook chart history`"]),
    // Slips of the keyboard, and words close to no command.
    (&["recrod"], &["did you mean 'record'?"]),
    (&["pred"], &["did you mean 'predict'?"]),
    (&["record", "papper"], &["did you mean 'paper'?"]),
    (&["record", "measurments"], &["use `swellbook record readings`"]),
    (&["PREDICT"], &["did you mean 'predict'?"]),
    (
        &["frobnicate"],
        &[
            "it has tour, init, record, import, show, strike, correct, restore, undo, audit, gauge, fit, predict",
        ],
    ),
    (&["help", "frobnicate"], &["no command 'frobnicate'"]),
    (&["record", "help", "papper"], &["did you mean 'paper'?"]),
    (&["chart", "pie"], &["it has knockdown, factors, agreement, history, plan"]),
    (&["record"], &["swellbook record needs one of paper, thread, target, trial, readings"]),
    (&["chart"], &["swellbook chart needs one of knockdown"]),
    // Words of the bench in place of options.
    (&["plan", "--sections", "20"], &["give --leaves: it works out the sections itself"]),
    (&["predict", "--signatures", "20"], &["did you mean --sections?"]),
    (&["predict", "--yarn", "x"], &["did you mean --thread?"]),
    (&["record", "paper", "x", "--thickness", "1"], &["did you mean --caliper?"]),
    (&["record", "thread", "x", "--thickness", "1"], &["did you mean --laid?"]),
    (&["record", "trial", "--papr", "x"], &["did you mean --paper?"]),
    (&["record", "trial", "--sect", "4"], &["did you mean --sections?"]),
    (&["record", "target", "limp", "--no-inpt", "--low", "2"], &["did you mean --no-input?"]),
    (&["correct", "target", "limp", "--hgh", "2"], &["did you mean --high?"]),
    (
        &["record", "paper", "--", "-x", "--caliper", ".1"],
        &["--caliper comes after --, where every word is a value; write it before the --"],
    ),
    (&["report", "--output", "x.html"], &["did you mean --out?"]),
    (
        &["backup", "--out", "x.tar"],
        &["no option --out; name the file", "`swellbook backup FILE.tar`"],
    ),
    (&["fit", "--stations", "4"], &["it belongs to `plan`, `chart plan`, `report`"]),
    (&["--sections", "4"], &["it belongs to `record trial`, `correct trial`, `predict`"]),
    (&["fit", "--colour", "red"], &["it has --json, --compare, --by, --check"]),
    (&["--", "--leaves"], &["has no option --leaves; it belongs to `predict`"]),
    (&["-x"], &["'-x' is not an option; options are written out"]),
    // Words without quotes, numbers with a space, a folder with a space.
    (&["predict", "--paper", "bond", "80", "--thread", "x"], &["--paper \"bond 80\""]),
    (&["predict", "--paper=bond", "80", "--thread", "x"], &["--paper \"bond 80\""]),
    (&["record", "paper", "bond", "80", "--caliper", "1"], &["swellbook record paper \"bond 80\""]),
    (&["record", "paper", "x", "--caliper", "0.1", "mm"], &["--caliper 0.1mm"]),
    (&["record", "readings", "T1", "--spine", "11.0,", "11.1"], &["--spine \"11.0, 11.1\""]),
    (&["record", "target", "half", "leather", "24..32"], &["target \"half leather\" 24..32"]),
    (&["record", "target", "half", "leather", "24", "32"], &["target \"half leather\" 24..32"]),
    (&["record", "target", "limp", "2", "10"], &["target limp 2..10"]),
    (&["record", "target", "half", "leather", "--low", "2"], &["record target \"half leather\""]),
    (&["record", "trial", "--trial", "T2", "--paper", "bond", "80"], &["--paper \"bond 80\""]),
    (&["init", "my", "book"], &["swellbook init \"my book\""]),
    (&["init", "a", "binder's", "book"], &["swellbook init \"a binder's book\""]),
    (&["--book", "my", "book", "fit"], &["--book \"my book\""]),
    (&["import", "old", "trials.csv"], &["swellbook import \"old trials.csv\""]),
    (&["report", "--out", "my", "report.html"], &["--out \"my report.html\""]),
    (
        &["record", "trial", "new", "trial", "--sections", "4"],
        &["swellbook record trial \"new trial\""],
    ),
    (&["record", "trial", "T2", "--on", "two", "on", "--sections", "4"], &["--on \"two on\""]),
    (&["record", "thread", "x", "--count", "lea", "18/3"], &["--count \"lea 18/3\""]),
    (&["record", "trial", "T2", "--note", "a", "rest", "after"], &["--note \"a rest after\""]),
    (&["predict", "-paper", "x"], &["'-paper' is not an option; did you mean --paper?"]),
    (&["predict", "\u{2014}paper", "x"], &["did you mean --paper?"]),
    (&["predict", "paper", "x"], &["did you mean --paper?"]),
    (&["predict", "--paper", "x", "thread", "y"], &["did you mean --thread?"]),
    (&["fit", "bond"], &["does not take the word 'bond'; it has --json"]),
    // Options that are missing, too many or impossible.
    (&["export"], &["or --observations or --draws or --summary; give one of them"]),
    (&["export", "--draws", "--readings"], &["--draws cannot be combined with --readings"]),
    (&["report"], &["missing --out; give it (see `swellbook report --help`)"]),
    (
        &["report", "--paper-size", "a4", "--out", "x.html"],
        &["missing --blank or --guide; give one of them"],
    ),
    (
        &["report", "--blank", "--guide", "--out", "x.html"],
        &["--blank cannot be combined with --guide"],
    ),
    (
        &["report", "--blank", "--paper", "x", "--thread", "y", "--out", "x.html"],
        &["--blank cannot be combined with --paper and --thread"],
    ),
    (
        &["report", "--guide", "--in-mind", "paper=x", "--out", "x.html"],
        &["--guide cannot be combined with --in-mind"],
    ),
    (
        &["report", "--blank", "--height", "210mm", "--out", "x.html"],
        &["--blank cannot be combined with --height"],
    ),
    (
        &["report", "--blank", "--fore-edge", "20mm", "--out", "x.html"],
        &["--blank cannot be combined with --fore-edge"],
    ),
    (
        &["report", "--blank", "--paper-size", "a5", "--out", "x.html"],
        &["--paper-size: 'a5' is not one of a4, letter"],
    ),
    (&["predict", "--paper", "x"], &["missing --thread, --sheets; give them"]),
    (&["import"], &["missing SHEET; give it"]),
    (&["fit", "--by", "paper"], &["missing --compare; give it"]),
    (&["record", "paper", "x", "--stack", "10"], &["missing --reading; give it"]),
    (&["predict", "--leaves"], &["--leaves needs a value after it: --leaves <N>"]),
    (&["--book"], &["--book needs a value"]),
    (&["fit", "--compare", "--by"], &["--by needs a value: one of trial, paper"]),
    (&["fit", "--compare", "--by", "thread"], &["--by: 'thread' is not one of trial, paper"]),
    (&["fit", "--compare", "--by", "papers"], &["did you mean 'paper'?"]),
    (&["fit", "--json=yes"], &["--json takes no value"]),
    (&["fit", "--json", "--json"], &["--json is given twice; give it once"]),
    (
        &["plan", "--paper", "x", "--leaves", "4", "--leaves", "5", "--target", "y"],
        &["--leaves is given twice; give it once"],
    ),
    (&["fit", "--compare", "--check"], &["--compare cannot be combined with --check"]),
    // Options that would have no effect.
    (
        &["import", "x.csv", "--replace"],
        &["SHEET cannot be combined with --replace; leave out one or the other"],
    ),
    (
        &["export", "--readings", "--show"],
        &["--readings cannot be combined with --show; leave out one or the other"],
    ),
    (
        &["export", "--readings", "--seed", "7"],
        &["--readings cannot be combined with --seed; leave out one or the other"],
    ),
    (
        &["fit", "--check", "--by", "paper"],
        &["--check cannot be combined with --by; leave out one or the other"],
    ),
    (&["man", "fit", "--replace"], &["COMMAND cannot be combined with --replace"]),
    (
        &[
            "predict",
            "--paper",
            "x",
            "--thread",
            "y",
            "--sheets",
            "4",
            "--leaves",
            "4",
            "--sections",
            "5",
        ],
        &["--leaves cannot be combined with --sections; leave out one or the other"],
    ),
];

/// Words that the parser's library would use.
const FOREIGN: [&str; 10] = [
    "Usage:",
    "tip:",
    "For more information",
    "unexpected",
    "unrecognized",
    "similar",
    "invalid value",
    "the argument",
    "were not provided",
    "is required",
];

#[test]
fn what_is_not_understood_is_answered_with_what_to_type() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let mut bad = Vec::new();
    for (typed, says) in ROWS {
        let run = folder.run(typed);
        let line = typed.join(" ");
        let is_one = run.err.lines().count() == 1 && run.out.is_empty() && run.code == 2;
        if !is_one || !run.err.starts_with("error: ") || run.err.trim_end().ends_with('.') {
            bad.push(format!("{line}: exit {}, {}{}", run.code, run.out, run.err));
        }
        let missing = says.iter().filter(|words| !run.err.contains(**words));
        bad.extend(missing.map(|words| format!("{line}: no {words:?} in {}", run.err)));
        let foreign = FOREIGN.iter().filter(|words| run.err.contains(**words));
        bad.extend(foreign.map(|words| format!("{line}: {words:?} in {}", run.err)));
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    assert_eq!(folder.bytes(), before);
}

/// What is typed, and a message of another kind that it must get.
const REFUSED: &[(&[&str], &[&str])] = &[
    (
        &["strike", "reading", "T1/sewn/1", "--reason", "not", "zeroed"],
        &["(a name or a reason with a space needs quotes)"],
    ),
    (&["undo", "--json"], &["--json prints the list of changes, so it needs --list"]),
    (&["undo", "--redo", "--json"], &["so it needs --list; nothing was undone or redone"]),
    (
        &["restore", "--from", "bench.tar"],
        &["--from: the folder for the book is missing", "swellbook restore --from bench.tar DIR"],
    ),
    (&["import", "none.csv"], &["none.csv: this file does not exist; check its name"]),
    (&["gauge", "none.csv"], &["none.csv: this file does not exist"]),
    (&["predict", "--plan", "none.toml"], &["none.toml: this file does not exist"]),
    (&["chart", "factors", "--out", "none/x.svg"], &["its folder does not exist; make it first"]),
    (
        &["strike", "paper", "bond", "80", "--reason", "x"],
        &["did you mean 'bond 80'? (a name with a space needs quotes)"],
    ),
    (
        &[
            "next",
            "--new-paper",
            "n",
            "--caliper",
            "0.1mm",
            "--hardness",
            "hard",
            "--target",
            "2..9",
        ],
        &["--target has no effect", "with --paper in place of --new-paper"],
    ),
    (
        &["next", "--new-paper", "n", "--caliper", "0.1mm", "--hardness", "hard", "--any-stock"],
        &["--any-stock has no effect", "leave it out"],
    ),
    (
        &["next", "--new-paper", "bond"],
        &["--new-paper: no paper 'bond'", "(a new paper needs --caliper and --hardness)"],
    ),
    (
        &["next", "--new-paper", "new", "--caliper", "0.1mm"],
        &["--new-paper: no paper 'new'", "(a new paper needs --hardness too)"],
    ),
    (&["next", "--new-paper", "new", "--hardness", "hard"], &["(a new paper needs --caliper too)"]),
    (
        &["plan", "--paper", "bond 80", "--leaves", "96", "--target", "5..9", "--height", "200cm"],
        &["2000 mm is outside 20..1200 mm; is it in millimetres? Then write 200mm"],
    ),
    (
        &["plan", "--paper", "bond 80", "--leaves", "1,000", "--target", "5..9"],
        &["--leaves: '1,000' may mean 1000; write whole numbers without a mark: 1000"],
    ),
    (&["restore", "trial", "T9"], &["no struck trial 'T9'; no trial of this book is struck"]),
];

#[test]
fn what_cannot_be_done_says_what_to_do() {
    let folder = Folder::with_trial();
    for (typed, says) in REFUSED {
        let run = folder.run(typed);
        assert!(run.code != 0 && !run.err.contains("os error"), "{typed:?}: {}", run.err);
        run.complains_of(says);
    }
}

/// A value that is left out of a correction stays, so its help names no default.
#[test]
fn the_help_of_a_correction_has_no_defaults_of_a_record() {
    let folder = Folder::new();
    for kind in ["paper", "thread", "target", "trial", "reading"] {
        let help = folder.run(&["correct", kind, "--help"]).ends(0).out;
        let defaults = help.split("[default: ").skip(1);
        let others = defaults.filter(|text| !text.starts_with("$SWELLBOOK"));
        let others: Vec<&str> = others.filter_map(|text| text.split(']').next()).collect();
        assert_eq!(others, ["corrected"], "{kind}: {help}");
    }
    for (kind, default) in [("trial", "today"), ("paper", "medium"), ("thread", "linen")] {
        let help = folder.run(&["record", kind, "--help"]).ends(0).out;
        assert!(help.contains(&format!("[default: {default}]")), "{kind}: {help}");
    }
}

/// A typical book of an untried paper follows everything that is said about it.
#[test]
fn everything_said_about_a_typical_book_counts() {
    let folder = Folder::with_trial();
    let typical = ["next", "--new-paper", "new", "--caliper", "0.1mm", "--hardness", "hard"];
    let said = |more: &[&str]| folder.run(&[&typical[..], more].concat()).ends(0).out;
    let usual = said(&[]);
    for (more, says) in [
        (&["--on", "2"][..], "sewn two-on"),
        (&["--on", "2", "--ends", "3"], "the first and last 3 sections all along"),
        (&["--guards", "0.4mm"], "Repairs add 0.40 mm."),
        (&["--leaves", "50", "--left-over", "smaller"], "1 section of 1 sheet"),
        (&["--sections", "12"], "12 sections of 4 sheets"),
        (&["--boned"], "boned"),
    ] {
        let words = one_line(&said(more));
        assert!(words.contains(says), "{more:?}: {words}");
        assert!(!usual.contains(says), "{more:?}: {usual}");
    }
}

/// The count of a thread that is not in the book is repeated back, as when it is recorded.
#[test]
fn a_count_is_repeated_back() {
    let folder = Folder::with_trial();
    let plan = ["--paper", "bond 80", "--sections", "10", "--sheets", "4", "--thread", "new"];
    let part = ["--sewn", "4", "--spine", "5", "--fore-edge", "3.4", "--target", "20..40"];
    for (command, more) in [
        (&["predict"][..], &[][..]),
        (&["next"], &[]),
        (&["midway"], &part),
        (&["report", "--out", "card.html"], &[]),
    ] {
        for count in ["18/3", "NeL 18/3"] {
            let run = folder.run(&[command, &plan, more, &["--count", count]].concat()).ends(0);
            let said = "read as thread new: linen, lea 18/3, 275.6 tex";
            assert!(run.err.contains(said), "{command:?}: {}", run.err);
        }
        let known = ["--paper", "bond 80", "--sections", "10", "--sheets", "4"];
        let run = folder.run(&[command, &known, more, &["--thread", "linen 25"]].concat()).ends(0);
        assert!(!run.err.contains("read as"), "{}", run.err);
    }
}

/// A hint can be pasted as it is printed. To add a row: the name of a paper.
#[test]
#[cfg(unix)]
fn a_hint_can_be_pasted_into_a_shell() {
    let folder = Folder::with_book();
    for name in ["bond 80", "binder's best", "5 $ stock", "the \"old\" one", "50 % rag!", "a;b"] {
        let run = folder.run(&["record", "paper", name, "--caliper", "0.1mm"]).ends(0);
        let hint = run.out.split_once("to undo: ").expect("a hint").1;
        let hint = hint.trim_end().strip_suffix(')').expect("in brackets");
        // Both shells understand it: it has no single quotes, unless the name needs them.
        let special = ["$", "\"", "!", "%"].iter().any(|sign| name.contains(sign));
        assert!(special || name.contains('\'') || !hint.contains('\''), "{hint}");
        folder.paste(&hint.replace('…', "a slip"));
        let struck = folder.read("struck.csv");
        assert!(struck.trim_end().lines().last().unwrap().contains("paper,"), "{struck}");
    }
    let audit = folder.run(&["audit"]).ends(0);
    assert!(!audit.out.contains("not used in any trial"), "all are struck: {}", audit.out);
}
