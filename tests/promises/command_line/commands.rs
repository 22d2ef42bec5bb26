//! The command line as a person or a script uses it.

use crate::support::folder::{Folder, PROGRAM, Run, TODAY, trial};
use crate::support::pools::pool;
use crate::support::{assert_contains, one_line, repository};
use swellbook::book::pool_text;
use swellbook::commands::command_line;

/// A small sheet as a spreadsheet writes it: two trials, three rows.
const SHEET: &str = "\
trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm
A1,2025-11-03,demo wove,soft,118,0.155,demo linen,0.54,10,3,1,0,no,sewn,13.1,9.6
A1,2025-11-03,demo wove,soft,118,0.155,demo linen,0.54,10,3,1,0,no,knocked,12.2,9.6
A2,2025-11-04,demo wove,soft,118,0.155,demo linen,0.54,12,3,2,2,yes,sewn,14.2,11.5
";

/// Repeated readings of two parts.
const REPEATS: &str = "part,reading_mm\nthin,3.10\nthick,9.82\nthin,3.12\nthick,9.79\n";

/// Commands whose examples remove what other examples need. They run last, in this order.
const LAST: [&str; 5] = ["correct", "strike", "backup", "restore", "undo"];

/// The words of every command with its own help, in an order in which their examples build on each
/// other.
fn commands() -> Vec<Vec<String>> {
    fn add(command: &clap::Command, words: &[String], found: &mut Vec<Vec<String>>) {
        found.push(words.to_vec());
        for below in command.get_subcommands() {
            add(below, &[words, &[below.get_name().to_owned()]].concat(), found);
        }
    }
    let mut found = Vec::new();
    add(&command_line(), &[], &mut found);
    found.sort_by_key(|words| {
        LAST.iter().position(|last| words.first().is_some_and(|it| it == last))
    });
    found
}

fn help(folder: &Folder, command: &[String], option: &str) -> Run {
    let words = command.iter().map(String::as_str).chain([option]);
    folder.run(&words.collect::<Vec<_>>()).ends(0)
}

/// The command lines in a help text, with continued lines joined.
fn examples(help: &str) -> Vec<String> {
    let joined = help.replace("\\\n", " ");
    let lines = joined.lines().map(str::trim);
    let command = |line: &&str| *line == "swellbook" || line.starts_with("swellbook ");
    lines.filter(command).map(str::to_owned).collect()
}

#[test]
fn every_example_of_the_help_works_as_written() {
    let folder = Folder::new();
    folder.write("old-trials.csv", SHEET);
    folder.write("repeats.csv", REPEATS);
    folder.write("pool.toml", pool_text(&pool()));
    let bench = repository("datasets/pool/ash.json");
    folder.write("bench.json", std::fs::read(bench).expect("a summary"));
    // The page is served until it is stopped, so its example would not end.
    for command in commands().into_iter().filter(|words| words.concat() != "bench") {
        let help = help(&folder, &command, "--help").out;
        let examples = examples(&help);
        assert!(!examples.is_empty(), "no example of {command:?}");
        for example in examples {
            folder.paste(&format!("export SWELLBOOK=bench-book; {example}"));
        }
    }
}

#[test]
fn help_begins_with_an_example_and_its_short_form_is_short() {
    let folder = Folder::new();
    for command in commands() {
        let [long, short] = ["--help", "-h"].map(|option| help(&folder, &command, option));
        assert!(long.out.starts_with("Example"), "{command:?}: {}", long.out);
        let examples = long.out.lines().take_while(|line| !line.is_empty());
        let widest = examples.map(|line| line.chars().count()).max();
        assert!(widest <= Some(60), "an example of {command:?} breaks at 60 columns");
        assert!(short.out.len() < long.out.len() && !short.out.contains("Example"), "{command:?}");
        assert!(long.err.is_empty() && short.err.is_empty());
    }
}

#[test]
fn the_dangers_of_the_bench_are_named_where_sewing_is_described() {
    for command in [&["record", "trial", "--help"][..], &["plan", "--help"]] {
        let help = Folder::new().run(command).ends(0).out;
        assert!(help.contains("knives") && help.contains("conservator"), "{help}");
    }
}

#[test]
fn without_arguments_it_says_where_things_stand() {
    let folder = Folder::new();
    let none = folder.run(&[]).ends(0);
    assert!(none.out.contains("swellbook init"), "{}", none.out);
    let folder = Folder::with_trial();
    let some = folder.run(&[]).ends(0);
    let parts = ["1 paper, 1 thread, 6 targets, 1 trial, 0 readings", "record readings"];
    assert_contains(&some.out, &parts);
}

#[test]
fn a_slip_gets_a_suggestion() {
    let folder = Folder::with_trial();
    folder.run(&["recrod"]).ends(2).complains_of(&["did you mean 'record'?"]);
    folder
        .run(&["record", "trial", "--papr", "x"])
        .ends(2)
        .complains_of(&["did you mean --paper?"]);
    let state = ["record", "readings", "T1", "--state", "swen", "--spine", "11.0"];
    folder.run(&state).ends(3).complains_of(&["'swen'", "did you mean 'sewn'?"]);
    let sewn = trial_with(&["--paper", "bnod 80"]);
    folder.run(&sewn).ends(3).complains_of(&["did you mean 'bond 80'?"]);
    let strike = ["strike", "reading", "T1/sewn/1", "--reason", "x"];
    folder.run(&strike).ends(3).complains_of(&["no reading 'T1/sewn/1'"]);
}

#[test]
fn what_is_missing_is_named_by_its_flag() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let cases: [(&[&str], &[&str]); 6] = [
        (&["record", "paper"], &["--paper", "--caliper"]),
        (&["record", "thread", "x", "--no-input"], &["--count, --laid or --wraps"]),
        (&["record", "target", "x", "--low", "3"], &["--high"]),
        (&["record", "trial", "T2", "--sheets", "4"], &["--paper", "--thread", "--sections"]),
        (&["record", "readings"], &["--trial", "--state", "--spine or --fore-edge"]),
        (&["strike", "trial", "T1"], &["--reason"]),
    ];
    for (args, flags) in cases {
        folder.run(args).ends(2).complains_of(flags);
    }
    assert_eq!(folder.bytes(), before);
}

/// The arguments of a valid trial, with these flags changed or added.
fn trial_with<'a>(flags: &[&'a str]) -> Vec<&'a str> {
    let mut args = trial("T2");
    for pair in flags.chunks(2) {
        match args.iter().position(|arg| arg == &pair[0]) {
            Some(at) => args[at + 1] = pair[1],
            None => args.extend(pair),
        }
    }
    args
}

#[test]
fn an_impossible_trial_is_refused() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let cases: [(&[&str], &str); 15] = [
        (&["--sections", "0"], "--sections: 0 is outside 1..500"),
        (&["--sections", "-3"], "--sections: -3 is outside"),
        (&["--sections", "NaN"], "--sections: 'NaN' is not a whole number"),
        (&["--sections", "1e309"], "--sections: '1e309'"),
        (&["--sections", "2.5"], "--sections: '2.5'"),
        (&["--sheets", "0"], "--sheets: 0 is outside"),
        (&["--on", "0"], "--on: 0 is outside"),
        (&["--on", "2", "--ends", "6"], "--ends: 6 at each end"),
        (&["--on", "2", "--ends", "6+5"], "--ends: 6+5 at the ends are too many for 10"),
        (&["--guards", "-1"], "--guards: -1 mm is outside"),
        (&["--guards", "80mm"], "--guards: 80 mm is outside"),
        (&["--date", "03/01/2026"], "--date: '03/01/2026' can be 2026-01-03 (day first) or"),
        (&["--paper", "vellum"], "no paper 'vellum'"),
        (&["--thread", "wire"], "no thread 'wire'"),
        (&["--hand", "=cmd()"], "--hand: '=cmd()'"),
    ];
    for (flags, message) in cases {
        folder.run(&trial_with(flags)).ends(3).complains_of(&[message]);
    }
    folder.run(&trial("T1")).ends(3).complains_of(&["already holds a trial 'T1'"]);
    assert_eq!(folder.bytes(), before);
}

/// A block sewn all along has none, and none that would count once it is corrected.
#[test]
fn the_ends_of_a_trial_count_where_sections_share_a_traverse() {
    let folder = Folder::with_trial();
    let sewn = || folder.rows("trials.csv").last().expect("a row").clone();
    let holds =
        |cells: &str| assert!(sewn().contains(&format!(",linen 25,{cells},no,")), "{cells}");
    let correct = |flags: &[&str]| {
        folder.run(&[&["correct", "trial", "T2"], flags].concat()).ends(0);
    };
    folder.run(&trial_with(&["--ends", "4"])).ends(0);
    holds("10,4,1,0");
    correct(&["--on", "2"]);
    holds("10,4,2,0");
    correct(&["--ends", "3+5"]);
    holds("10,4,2,3+5");
    correct(&["--on", "3", "--sections", "11"]);
    holds("11,4,3,3+5");
    correct(&["--on", "1"]);
    holds("11,4,1,0");
    let rows = folder.read("trials.csv").replace(",11,4,1,0,", ",11,4,1,4,");
    folder.write("trials.csv", rows);
    correct(&["--on", "2"]);
    holds("11,4,2,0");
    let uneven = trial("T3").into_iter().map(|word| if word == "10" { "11" } else { word });
    let uneven: Vec<&str> = uneven.chain(["--on", "2", "--ends", "3"]).collect();
    let said = folder.run(&uneven).ends(0).err;
    assert!(said.contains("note: 1 section left over between the ends needs"), "{said}");
    // The same from the other doors, and only if the pattern is new.
    let says = "note: T3: 1 section left over between the ends needs";
    let on = |on: &str| folder.run(&["correct", "trial", "T3", "--on", on]).ends(0).err;
    assert!(on("3").contains("note: T3: 2 sections left over"));
    assert!(on("2").contains(says));
    let noted = folder.run(&["correct", "trial", "T3", "--note", "damp"]).ends(0).err;
    assert!(!noted.contains("left over"), "{noted}");
    folder.measure("T3", "sewn", "11.9,12.0", "8.8,8.85");
    folder.run(&["export", "--sheet", "--out", "sheet.csv"]).ends(0);
    let other = Folder::with_trial();
    other.write("sheet.csv", folder.read("sheet.csv"));
    let said = other.run(&["import", "sheet.csv"]).ends(0).err;
    assert!(said.contains(says), "{said}");
}

#[test]
fn an_impossible_paper_thread_or_target_is_refused() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let cases: [(&[&str], &str); 18] = [
        (&["paper", "x", "--caliper", "105mm"], "--caliper: 105 mm is outside 0.01..2 mm"),
        (&["paper", "x", "--caliper", "NaN"], "--caliper: 'NaN'"),
        (&["paper", "x", "--caliper", "1e309"], "--caliper: '1e309'"),
        (&["paper", "x", "--caliper", "-0.1"], "--caliper: -0.1 mm is outside"),
        (&["paper", "x", "--caliper", "-0.1mm"], "--caliper: -0.1 mm is outside"),
        (&["paper", "x", "--caliper", "0.1 furlong"], "'furlong' is not a unit"),
        (&["paper", "x", "--stack", "0", "--reading", "1mm"], "--stack: 0 is outside"),
        (&["paper", "x", "--stack", "10", "--reading", "105"], "--reading: 105.00 mm over 10"),
        (&["paper", "x", "--caliper", "0.1", "--grammage", "0"], "--weight: 0 g/m"),
        (&["paper", "=x", "--caliper", "0.1"], "--paper: '=x'"),
        (&["paper", "bond 80", "--caliper", "0.1"], "already holds a paper 'bond 80'"),
        (&["thread", "x", "--count", "25"], "--count: '25' can be lea 25 or tex 25"),
        (&["thread", "x", "--count", "lea 0/3"], "--count: 'lea 0/3'"),
        (&["thread", "x", "--laid", "48mm"], "--laid: 48 mm is outside"),
        (&["thread", "x", "--wraps", "0", "--over", "9mm"], "--wraps: 0 is outside"),
        (&["target", "x", "--low", "30", "--high", "20"], "--high: the low bound 30 %"),
        (&["target", "x", "NaN..20"], "LOW..HIGH: 'NaN'"),
        (&["target", "x", "12/22"], "'12/22' is not a range"),
    ];
    for (args, message) in cases {
        folder.run(&[&["record"], args].concat()).ends(3).complains_of(&[message]);
    }
    assert_eq!(folder.bytes(), before);
}

#[test]
fn impossible_readings_are_refused() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let cases: [(&[&str], &str); 10] = [
        (&["--spine", "3.9", "--fore-edge", "8"], "thinner than half the fore-edge"),
        (&["--spine", "105"], "was it typed in tenths?"),
        (&["--spine", "-11"], "-11 mm is outside"),
        (&["--spine", "NaN"], "--spine: 'NaN'"),
        (&["--spine", "1e309"], "--spine: '1e309'"),
        (&["--spine", "inf"], "--spine: 'inf'"),
        (&["--spine", "9,8"], "9.8 for one, or '9;8' for two"),
        (
            &["--spine", "10,15,10,20", "--fore-edge", "8,15,8,20"],
            "can be 2 values or 4; write '10.15,10.20' for 2, or '10;15;10;20' for 4",
        ),
        (&["--spine", "11.0,"], "--spine: '11.0,' has a separator with no value beside it"),
        (&["--spine", "11.0", "--place", "a\u{202e}b"], "--place: "),
    ];
    for (values, message) in cases {
        readings(&folder, values).ends(3).complains_of(&[message]);
    }
    assert_eq!(folder.bytes(), before);
}

fn readings(folder: &Folder, values: &[&str]) -> Run {
    let args = ["record", "readings", "--trial", "T1", "--state", "sewn"];
    folder.run(&[&args[..], values].concat())
}

#[test]
fn several_places_are_paired_when_their_counts_agree() {
    let folder = Folder::with_trial();
    readings(&folder, &["--spine", "11.0,11.1", "--fore-edge", "8.0,8.05"]).ends(0);
    readings(&folder, &["--spine", "11.2;11.3", "--fore-edge", "8.1"]).ends(0);
    readings(&folder, &["--spine", "11,4;11,5", "--place", "head,tail"]).ends(0);
    let rows: Vec<String> = folder.read("readings.csv").lines().map(str::to_owned).collect();
    let starts = [
        "trial,",
        "T1,sewn,1,11,8,",
        "T1,sewn,2,11.1,8.05,",
        "T1,sewn,3,11.2,,",
        "T1,sewn,4,11.3,,",
        "T1,sewn,5,,8.1,",
        "T1,sewn,head,11.4,,",
        "T1,sewn,tail,11.5,,",
    ];
    assert_eq!(rows.len(), starts.len(), "{rows:#?}");
    for (row, start) in rows.iter().zip(starts) {
        assert!(row.starts_with(start), "{row} does not start with {start}");
    }
    assert!(rows[1].contains(TODAY), "{}", rows[1]);
    let again = readings(&folder, &["--spine", "11.0", "--place", "head"]).ends(3);
    again.complains_of(&["already holds a reading at 'head'"]);
    readings(&folder, &["--spine", "11.0,11.1", "--place", "x"]).ends(2);
}

#[test]
fn a_change_says_how_to_undo_it_and_that_works() {
    let folder = Folder::with_trial();
    let run = readings(&folder, &["--spine", "11.0,11.1", "--fore-edge", "8.0,8.05"]).ends(0);
    assert!(run.out.starts_with("recorded 2 readings of T1, as sewn, at 1, 2 (to undo: "));
    let command = run.out.split("to undo: swellbook ").nth(1).unwrap();
    let command = command.trim_end().strip_suffix(" --reason \"…\")").unwrap();
    let mut args: Vec<&str> = command.split(' ').collect();
    args.extend(["--reason", "not zeroed"]);
    folder.run(&args).ends(0);
    let struck = folder.read("struck.csv");
    assert!(struck.contains("T1/sewn/2") && struck.contains(TODAY), "{struck}");
    let state = folder.run(&[]).ends(0).out;
    assert!(state.contains("0 readings; 2 struck"), "{state}");
    assert!(
        folder.read("readings.csv").contains("T1,sewn,1,11,8,"),
        "what is struck stays legible"
    );
}

#[test]
fn a_stack_gives_the_caliper_and_turns_give_the_diameter() {
    let folder = Folder::with_book();
    let paper = ["record", "paper", "--name", "laid", "--stack", "10", "--reading", "1.03mm"];
    let run = folder.run(&paper).ends(0);
    assert!(run.err.contains("10 leaves measured 1.03 mm: caliper 0.103 mm"), "{}", run.err);
    assert!(folder.read("papers.csv").contains("laid,,0.103,medium,"));
    let thread = ["record", "thread", "linen", "--wraps", "20", "--over", "9.6mm"];
    let run = folder.run(&thread).ends(0);
    assert!(run.err.contains("20 turns side by side measured 9.60 mm: diameter 0.480 mm"));
    assert!(folder.read("threads.csv").contains("linen,linen,,0.48,"));
}

#[test]
fn a_count_and_a_diameter_that_disagree_are_pointed_out() {
    let folder = Folder::with_book();
    let thread = |name, laid| ["record", "thread", name, "--count", "lea 25/3", "--laid", laid];
    let double = folder.run(&thread("double", "0.96")).ends(0);
    assert!(double.err.contains("caution") && double.err.contains("thicker"), "{}", double.err);
    assert!(double.out.contains("lea 25/3, 198.4 tex"), "{}", double.out);
    let single = folder.run(&thread("single", "0.48")).ends(0);
    assert!(single.err.is_empty(), "{}", single.err);
}

#[test]
fn a_target_may_be_named_and_bounded_in_several_ways() {
    let folder = Folder::with_book();
    let cases: [&[&str]; 5] = [
        &["a", "2..10"],
        &["--target", "b", "2..10"],
        &["--name", "c", "--low", "-2", "--high", "10%"],
        &["d", "-5..3"],
        &["--high", "10", "--low=2.5", "e"],
    ];
    for case in cases {
        folder.run(&[&["record", "target"], case].concat()).ends(0);
    }
    let targets = folder.read("targets.csv");
    for row in ["a,2,10,", "b,2,10,", "c,-2,10,", "d,-5,3,", "e,2.5,10,"] {
        assert!(targets.lines().any(|line| line == row), "no {row} in {targets}");
    }
}

#[test]
fn plain_numbers_are_in_the_unit_of_the_book() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", "thou", "--resolution", "0.5"]).ends(0);
    folder.run(&["record", "paper", "bond", "--caliper", "4"]).ends(0);
    assert!(folder.read("papers.csv").contains("bond,,0.1016,"), "{}", folder.read("papers.csv"));
}

#[test]
fn a_sheet_is_shown_then_added_then_nothing_more() {
    let folder = Folder::with_book();
    folder.write("sheet.csv", SHEET);
    let before = folder.bytes();
    let dry = folder.run(&["import", "sheet.csv", "--dry-run"]).ends(0);
    assert!(
        dry.out.starts_with("would add 1 paper, 1 thread, 2 trials, 3 readings"),
        "{}",
        dry.out
    );
    assert_eq!(folder.bytes(), before);
    let first = folder.run(&["import", "sheet.csv"]).ends(0);
    assert!(first.out.starts_with("added 1 paper, 1 thread, 2 trials, 3 readings"));
    let after = folder.bytes();
    let json = folder.run_with(&["import", "-", "--json"], SHEET.as_bytes()).json();
    assert_eq!((&json["added"]["readings"], &json["already_there"]), (&0.into(), &3.into()));
    let third = folder.run(&["import", "sheet.csv"]).ends(0);
    assert!(third.out.starts_with("nothing was added"), "{}", third.out);
    assert_eq!(folder.bytes(), after);
}

#[test]
fn an_impossible_sheet_adds_nothing() {
    let folder = Folder::with_trial();
    std::fs::create_dir(folder.path().join("a-folder")).unwrap();
    folder.write("empty.csv", "");
    folder.write("binary.csv", [0x50, 0x4b, 3, 4, 0, 0xff, 0xfe, 0]);
    let two_bad = SHEET.replace(",12.2,", ",NaN,").replace("A2,2025-11-04", "A2,2025-13-04");
    folder.write("two-bad.csv", two_bad);
    let before = folder.bytes();
    for (sheet, code) in [("empty.csv", 3), ("binary.csv", 3), ("a-folder", 3), ("none.csv", 1)] {
        folder.run(&["import", sheet]).ends(code).complains_of(&[sheet]);
    }
    let places = ["two-bad.csv:3, column spine_mm", "two-bad.csv:4, column date"];
    folder.run(&["import", "two-bad.csv"]).ends(3).complains_of(&places);
    assert_eq!(folder.bytes(), before);
}

#[test]
fn an_audit_is_quiet_when_nothing_is_doubtful_and_strict_when_asked() {
    let folder = Folder::with_trial();
    readings(&folder, &["--spine", "11.0,11.1", "--fore-edge", "8.0,8.05"]).ends(0);
    let clean = folder.run(&["audit", "--strict"]).ends(0);
    assert_eq!(clean.out, "nothing suspect\n");
    folder.measure("T1", "knocked", "7.0,7.1", "8.0,8.05");
    let audit = folder.run(&["audit"]).ends(0);
    assert!(audit.out.starts_with("2 entries to look at again:\n"), "{}", audit.out);
    assert!(audit.out.contains("  - readings.csv:4: T1 knocked down: place 1"), "{}", audit.out);
    folder.run(&["audit", "--strict"]).ends(3);
    let json = folder.run(&["audit", "--json"]).json();
    let first = &json["findings"][0];
    assert_eq!((&first["file"], &first["row"]), (&"readings.csv".into(), &4.into()), "{first}");
    assert_eq!(first["severity"], "check");
}

/// A reading is wrong by a millimetre at one of four places. `fit` shows its low weight, and
/// `audit` names it once, as an outlier. A slip too small for an outlier is named as one with less
/// weight.
#[test]
fn a_slip_is_named_and_counts_little() {
    let folder = Folder::with_trial();
    folder.measure("T1", "sewn", "11.02,12.05,11.00,11.03", "8.00,8.05,8.02,8.01");
    let line = "T1 as sewn, spine at 2: 12.05 mm, weight 0.0";
    let fit = folder.run(&["fit"]).ends(0).out;
    assert!(fit.contains("so given less weight") && fit.contains(line), "{fit}");
    let json = folder.run(&["fit", "--json"]).json();
    let all = json["down_weighted"].as_array().unwrap();
    assert_eq!(all.len(), 1, "{json}");
    let slip = &all[0];
    assert_eq!((&slip["trial"], &slip["place"]), (&"T1".into(), &"2".into()), "{slip}");
    assert_eq!((&slip["edge"], &slip["value_mm"]), (&"spine".into(), &12.05.into()), "{slip}");
    assert!((0.0..0.1).contains(&slip["weight"].as_f64().unwrap()), "{slip}");
    let audit = folder.run(&["audit"]).ends(0).out;
    assert!(audit.starts_with("1 entry to look at again:\n"), "{audit}");
    assert!(audit.contains("12.05 mm, far from"), "{audit}");
    folder.measure("T1", "knocked", "10.40,10.42,10.88", "8.00,8.04,8.02");
    let audit = folder.run(&["audit"]).ends(0).out;
    assert!(audit.starts_with("2 entries to look at again:\n"), "{audit}");
    let words = one_line(&audit);
    assert!(words.contains("place 3 has a spine of 10.88 mm, out of line with its set"), "{audit}");
}

/// What only a program needs is in the JSON. To add a row: the word that is not printed, and its
/// key.
#[test]
fn a_fit_prints_what_a_binder_needs() {
    let folder = Folder::toured();
    let printed = folder.on_tour(&["fit"]).ends(0).out;
    let json = folder.on_tour(&["fit", "--json"]).ends(0).out;
    for (word, key) in [
        ("degrees of freedom", "\"repeatability_df\""),
        ("draws", "\"draws\""),
        ("effective", "\"effective_draws\""),
    ] {
        assert!(!printed.contains(word), "{word}: {printed}");
        assert!(json.contains(key), "{key}: {json}");
    }
}

#[test]
fn exit_codes_tell_the_kinds_of_failure_apart() {
    let folder = Folder::new();
    folder.run(&["audit"]).ends(1).complains_of(&["no book found", "swellbook init DIR"]);
    folder.run(&["init", "."]).ends(0);
    folder.run(&["init", "."]).ends(1).complains_of(&["already holds a book"]);
    folder.write("papers.csv", "paper,grammage_gsm,caliper_mm,hardness,note\nx,,105,hard,\n");
    folder.run(&["fit"]).ends(3).complains_of(&["papers.csv:2, column caliper_mm"]);
    folder.write("book.toml", "format = 99\n");
    folder.run(&["audit"]).ends(6).complains_of(&["book.toml"]);
}

#[test]
fn a_book_in_use_is_reported() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let lock = std::fs::File::open(folder.path().join("book.lock")).unwrap();
    lock.lock().unwrap();
    let run = folder.run(&["record", "target", "limp", "2..10"]).ends(5);
    run.complains_of(&["in use"]);
    assert_eq!(folder.bytes(), before);
}

#[test]
fn the_book_is_found_by_flag_then_variable_then_folder() {
    let folder = Folder::with_trial();
    std::fs::create_dir(folder.path().join("inside")).unwrap();
    let mut inside = folder.command(PROGRAM);
    inside.current_dir(folder.path().join("inside"));
    let text = |output: std::process::Output| String::from_utf8(output.stdout).unwrap();
    assert!(text(inside.output().unwrap()).contains("1 trial"));
    folder.run(&["init", "other"]).ends(0);
    inside.env("SWELLBOOK", folder.path().join("other"));
    assert!(text(inside.output().unwrap()).contains("0 trials"));
    let flag = inside.arg("--book").arg(folder.path()).output().unwrap();
    assert!(text(flag).contains("1 trial"));
    let run = folder.run(&["--book", "other", "record", "target", "limp", "2..10"]).ends(0);
    assert!(run.out.contains("swellbook --book other strike target limp"), "{}", run.out);
}

#[test]
fn a_clock_that_gives_no_day_is_a_usage_error() {
    let folder = Folder::new();
    let output = folder.command(PROGRAM).env("SWELLBOOK_TODAY", "soon").output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("SWELLBOOK_TODAY: 'soon'"));
}

/// The two sides of the date line never have the same day. The peer is `date` of POSIX.
#[cfg(unix)]
#[test]
fn today_is_the_day_in_the_time_zone() {
    let folder = Folder::with_trial();
    for (trial, zone) in [("A", None), ("B", Some("Pacific/Kiritimati")), ("C", Some("XYZ+12"))] {
        let in_zone = |program: &str| {
            let mut command = folder.command(program);
            command.env_remove("SWELLBOOK_TODAY").env_remove("TZ").envs(zone.map(|it| ("TZ", it)));
            command
        };
        let date = || {
            let output = in_zone("date").arg("+%F").output().unwrap();
            String::from_utf8_lossy(&output.stdout).trim().to_owned()
        };
        let before = date();
        let mut record = in_zone(PROGRAM);
        record.args(["record", "trial", trial, "--paper=bond 80", "--thread=linen 25"]);
        record.args(["--sections=10", "--sheets=4", "--date=today"]);
        assert!(record.output().unwrap().status.success());
        let row = folder.read("trials.csv").lines().last().unwrap().to_owned();
        let said = [before, date()].map(|day| row.starts_with(&format!("{trial},{day},")));
        assert!(said.contains(&true), "{zone:?}: {row}");
    }
}

#[test]
fn output_that_nobody_sees_is_not_coloured() {
    let folder = Folder::with_trial();
    for args in [&["--help"][..], &["recrod"], &["audit"], &[], &["record", "paper"]] {
        let run = folder.run(args);
        assert!(!run.out.contains('\u{1b}') && !run.err.contains('\u{1b}'), "{args:?}: {run:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_quiet() {
    for args in [&["--help"][..], &[], &["audit", "--json"]] {
        let folder = Folder::with_trial();
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = folder.command(PROGRAM).args(args).stdout(writer).output().unwrap();
        let complaint = String::from_utf8_lossy(&output.stderr);
        assert!(complaint.is_empty() && output.status.success(), "{args:?}: {complaint}");
    }
}

#[test]
fn a_correction_takes_what_recording_takes_and_names_its_own_options() {
    let folder = Folder::with_trial();
    folder
        .run(
            &["record", "trial", "T2"]
                .iter()
                .chain(&crate::support::folder::SEWING)
                .copied()
                .collect::<Vec<_>>(),
        )
        .ends(0);
    folder.run(&["record", "target", "rb", "20..30"]).ends(0);
    for (args, row) in [
        (&["13..20"][..], "rb,13,20,"),
        (&["--low", "2..10"], "rb,2,10,"),
        (&["--low", "5"], "rb,5,10,"),
    ] {
        folder.run(&[&["correct", "target", "rb"], args].concat()).ends(0);
        assert!(folder.rows("targets.csv").last().unwrap().starts_with(row), "{args:?}");
    }
    let low = folder.run(&["correct", "target", "rb", "--low", "30"]).ends(3);
    low.complains_of(&["--low: the low bound 30 % is not below the high bound 10 %"]);
    let name = folder.run(&["correct", "trial", "T2", "--name", "T1"]).ends(3);
    name.complains_of(&["--name: the book already holds a trial 'T1'"]);
    readings(&folder, &["--spine", "11.0,11.1", "--fore-edge", "8.0,8.1"]).ends(0);
    folder.run(&["correct", "reading", "T1/sewn/2", "--place", "1"]).ends(3);
    let moved = ["correct", "reading", "T1/sewn/2", "--place", "tail", "--taken", "2026-02-28"];
    folder.run(&moved).ends(0);
    let row = folder.rows("readings.csv").pop().unwrap();
    assert!(row.starts_with("T1,sewn,tail,11.1,8.1,2026-02-28"), "{row}");
    // A number that nobody counts to is a name.
    readings(&folder, &["--spine", "11.0", "--fore-edge", "8.0", "--place", "4294967295"]).ends(0);
    readings(&folder, &["--spine", "11.05", "--fore-edge", "8.0"]).ends(0);
    assert!(folder.rows("readings.csv").pop().unwrap().starts_with("T1,sewn,2,"));
}
