//! Everything that was recorded can be looked at again, and looking changes nothing.

use crate::support::assert_contains;
use crate::support::folder::{Folder, PROGRAM, Run, words};
use crate::support::served::Served;
use serde_json::Value;
use swellbook::book::{Column, column_tables};

/// A book of an invented bindery: one paper, one thread of 0.5 mm, two trials. `T1` has 10
/// sections, all along, so 5 mm of thread lie in its spine.
fn book() -> Folder {
    let folder = Folder::new();
    for line in [
        "init .",
        "record paper 'laid 120' --caliper 0.15mm --grammage 120 --note 'from <the> mill'",
        "record thread T1 --laid 0.5mm --material linen",
        "record trial T1 --paper 'laid 120' --thread T1 --sections 10 --sheets 3 \
         --date 2026-02-03 --note 'a cold shop' --hand Ines",
        "record readings T1 --state sewn --spine 12.0,12.2 --fore-edge 9.1,8.9 --note 'at once'",
        "record readings T1 --state knocked --spine 11.2,11.4 --fore-edge 9.0,9.0",
        "record readings T1 --state knocked+pressed --spine 11.1 --fore-edge 9.0",
        "record trial 'late one' --paper 'laid 120' --thread T1 --sections 12 --sheets 3 \
         --on 2 --ends 2",
    ] {
        folder.run(&words(line)).ends(0);
    }
    folder
}

fn show(folder: &Folder, args: &[&str]) -> Run {
    folder.run(&[&["show"], args].concat())
}

fn json(folder: &Folder, args: &[&str]) -> Value {
    show(folder, &[args, &["--json"]].concat()).json()
}

/// Figures worked out by hand: means of 12.1 and 9.0, then 11.3 and 9.0, then 11.1 and 9.0.
#[test]
fn a_trial_has_the_swell_of_each_state_and_what_was_taken_out() {
    let folder = book();
    let text = show(&folder, &["trial", "T1"]).ends(0).out;
    assert_contains(
        &text.replace("\n  ", " "),
        &["10 sections of 3 sheets of laid 120, thread T1, all along", "sewn by Ines"],
    );
    assert_contains(&text, &["note: a cold shop", "at once", "2026-03-01"]);
    let cells = |state: &str| {
        let line = text.lines().find(|line| line.split(' ').next() == Some(state));
        line.expect(state).split_whitespace().skip(1).map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(cells("sewn"), ["2", "12.10", "0.20", "9.00", "0.20", "3.10", "34.4"]);
    assert_eq!(cells("knocked"), ["2", "11.30", "0.20", "9.00", "0.00", "2.30", "25.6"]);
    assert_eq!(cells("knocked+pressed"), ["1", "11.10", "9.00", "2.10", "23.3"]);
    let told = text.replace("\n  ", " ");
    assert_contains(
        &told,
        &["Knocking down took out 0.80 mm of swell: from 34.4 to 25.6 %, 8.9 points; that is \
                    16 % of the thread in the spine."],
    );
    assert_contains(
        &told,
        &["Pressing took out 0.20 mm of swell: from 25.6 to 23.3 %, 2.2 points; that is 4 %"],
    );
    let trial = &json(&folder, &["trial", "T1"])["trials"][0];
    assert_eq!(trial["taken_out"][1]["from"], "knocked");
    let figure = |path: &str| trial.pointer(path).and_then(Value::as_f64).expect(path);
    for (path, wanted) in [
        ("/states/0/swell_mm", 3.1),
        ("/states/0/swell_percent", 100.0 * 3.1 / 9.0),
        ("/states/0/spine_range_mm", 0.2),
        ("/taken_out/0/swell_mm", 0.8),
        ("/taken_out/0/thread_share", 0.8 / 5.0),
    ] {
        assert!((figure(path) - wanted).abs() < 1e-9, "{path}: {}", figure(path));
    }
}

#[test]
fn each_kind_has_a_table_and_the_overview_leads_to_it() {
    let folder = book();
    let text = show(&folder, &[]).ends(0).out;
    assert_contains(
        &text,
        &["papers         1  swellbook show papers", "trials         2", "targets        6"],
    );
    assert_contains(
        &show(&folder, &["papers"]).ends(0).out,
        &["laid 120  0.150 mm  120 g/m²", "from <the> mill"],
    );
    assert_contains(&show(&folder, &["Thread"]).ends(0).out, &["T1", "0.500 mm  measured"]);
    assert_contains(&show(&folder, &["targets"]).ends(0).out, &["rounded", "12 to 22 %"]);
    let trials = show(&folder, &["trials"]).ends(0).out;
    assert_contains(&trials, &["2 trials, last recorded first", "34.4     25.6"]);
    assert!(trials.find("late one") < trials.find("T1  "), "{trials}");
    let forecasts = show(&folder, &["forecasts"]).ends(0).out;
    assert_contains(&forecasts, &["no forecasts yet: swellbook predict --help"]);
    let all = json(&folder, &[]);
    assert_eq!(all["trials"].as_array().unwrap().len(), 2);
    assert_eq!(json(&folder, &["papers"])["trials"], Value::Array(Vec::new()));
    let start = folder.run(&[]).ends(0).out;
    assert_contains(&start, &["swellbook show "]);
}

/// A column that is recorded but never shown is as good as lost.
#[test]
fn every_column_of_the_stock_and_of_a_trial_is_in_what_show_says() {
    let folder = book();
    for list in ["papers", "threads", "targets", "trials"] {
        let shown = json(&folder, &[list]);
        let entry = shown[list][0].as_object().expect("an entry");
        let of_list = |(file, ..): &(&str, &[Column], Vec<String>)| *file == format!("{list}.csv");
        let (_, columns, _) = column_tables().into_iter().find(of_list).expect("its file");
        let missing =
            columns.iter().map(|column| column.name).filter(|it| !entry.contains_key(*it));
        assert_eq!(missing.collect::<Vec<_>>(), [""; 0], "{list}");
    }
}

#[test]
fn a_paper_and_a_thread_are_shown_with_their_trials_and_what_these_taught() {
    let folder = book();
    let paper = show(&folder, &["laid 120"]).ends(0).out.replace("\n    ", " ");
    assert_contains(
        &paper,
        &["paper laid 120: 120 g/m²", "of the thread show (90 % range", "2 trials", "late one"],
    );
    assert_contains(
        &paper,
        &["The nominal figure for a paper of this hardness is", "note: from <the> mill"],
    );
    let fit = folder.run(&["fit", "--json"]).json();
    let shown = json(&folder, &["laid 120"]);
    assert_eq!(shown["papers"][0]["knocked"], fit["papers"][0]["knocked"]);
    assert_eq!(shown["papers"][0]["trials"][1], "T1");
    let thread = json(&folder, &["thread", "T1"]);
    assert_eq!(thread["threads"][0]["effect"], fit["threads"][0]["effect"]);
    assert_eq!(thread["trials"], Value::Array(Vec::new()));
}

/// What is typed after `show`, and the entries that it means.
#[test]
fn a_name_is_found_as_people_type_it() {
    let folder = book();
    let paper = ["record", "paper", "Trials", "--caliper=0.1mm"];
    folder.run(&paper).ends(0);
    for (typed, wanted) in [
        (&["T1"][..], "threads T1, trials T1"),
        (&["trial", "T1"], "trials T1"),
        (&["laid 120"], "papers laid 120"),
        (&["laid", "120"], "papers laid 120"),
        (&["LAID 120"], "papers laid 120"),
        (&["late", "one"], "trials late one"),
        (&["trials", "late", "one"], "trials late one"),
        // A name wins over a kind, but another form of the kind still means the kind.
        (&["Trials"], "papers Trials"),
        (&["trials"], "trials late one, trials T1"),
    ] {
        let found = json(&folder, typed);
        let kinds = [("papers", "paper"), ("threads", "thread"), ("trials", "trial")];
        let names = kinds.iter().flat_map(|(kind, key)| {
            let list = found[*kind].as_array().expect("a list").iter();
            list.map(move |one| format!("{kind} {}", one[*key].as_str().expect("a name")))
        });
        assert_eq!(names.collect::<Vec<_>>().join(", "), wanted, "{typed:?}");
    }
    show(&folder, &["liad 120"]).ends(3).complains_of(&["did you mean 'laid 120'?"]);
    let again = ["record", "paper", "LAID 120", "--caliper=0.1mm", "--no-input"];
    folder.run(&again).ends(0);
    for (typed, parts) in [
        (&["paper", "T1"][..], "no paper 'T1' in the book; it holds laid 120, Trials, LAID 120"),
        (&["Laid 120"], "no entry 'Laid 120' in the book; did you mean '"),
        (&["forecast", "T1"], "no forecast 'T1' in the book, which holds none yet"),
        (&["readings"], "readings are shown with their trial"),
        (&["T1/sewn/1"], "no entry 'T1/sewn/1'"),
    ] {
        show(&folder, typed).ends(3).complains_of(&[parts]);
    }
}

#[test]
fn what_looks_wrong_is_shown_with_its_entry_and_nowhere_else() {
    let folder = book();
    folder.measure("late one", "sewn", "13.6,18.6,13.7", "10.7,10.8,10.7");
    let text = show(&folder, &["late", "one"]).ends(0).out;
    assert_contains(
        &text,
        &["look at again:\n  - late one as sewn: place 2 has a spine of 18.6 mm"],
    );
    assert!(!show(&folder, &["trial", "T1"]).ends(0).out.contains("18.6 mm"));
    assert_eq!(json(&folder, &["late one"])["doubts"][0]["severity"], "check");
    assert_eq!(json(&folder, &[])["doubts"], Value::Null);
}

#[test]
fn what_was_struck_is_shown_with_its_reason_and_counts_nowhere() {
    let folder = book();
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason=not zeroed"]).ends(0);
    folder.run(&["record", "paper", "gone", "--caliper=0.1mm"]).ends(0);
    folder.run(&["strike", "paper", "gone", "--reason=no such paper"]).ends(0);
    let trial = show(&folder, &["trial", "T1"]).ends(0).out;
    assert_contains(&trial, &["1 entry struck: swellbook show T1 --struck", "12.00"]);
    let own = show(&folder, &["trial", "T1", "--struck"]).ends(0).out;
    assert_contains(
        &own,
        &["reading T1/sewn/2: spine 12.20 mm", "struck on 2026-03-01: not zeroed"],
    );
    assert!(!own.contains("gone"), "{own}");
    let all = show(&folder, &["--struck"]).ends(0).out;
    assert_contains(
        &all,
        &["2 entries struck", "paper gone: caliper 0.100 mm", "no such paper", "not zeroed"],
    );
    // A struck entry that is asked for by name is shown, not reported as missing.
    assert_contains(
        &show(&folder, &["gone"]).ends(0).out,
        &["struck on 2026-03-01: no such paper"],
    );
    assert_eq!(json(&folder, &["gone"])["struck"][0]["reason"], "no such paper");
    // What was brought back counts again.
    folder.run(&["restore", "reading", "T1/sewn/2"]).ends(0);
    folder.run(&["restore", "paper", "gone"]).ends(0);
    assert_contains(&show(&folder, &["--struck"]).ends(0).out, &["nothing is struck"]);
    assert!(!show(&folder, &["T1"]).ends(0).out.contains("struck"));
}

#[test]
fn a_kept_forecast_is_shown_with_its_target_and_what_came_of_it() {
    let folder = book();
    let plan = ["--paper=laid 120", "--thread=T1", "--sections=12", "--sheets=3"];
    let kept = [&["predict"], &plan[..], &["--target=rounded", "--keep=B 9"]].concat();
    folder.run(&kept).ends(0);
    folder.run(&kept).ends(0);
    let open = show(&folder, &["B 9"]).ends(0).out.replace("\n    ", " ");
    assert_contains(&open, &["chance of meeting rounded 12..22", "not measured yet"]);
    assert_contains(&open, &["a later forecast of this name and state took its place"]);
    folder.run(&[&["record", "trial", "B 9"], &plan[..]].concat()).ends(0);
    folder.measure("B 9", "knocked", "12.42", "10.80");
    let text = show(&folder, &["forecast", "B 9"]).ends(0).out;
    assert_contains(&text, &["came out at 15.0 % (measured)", "; the target was met"]);
    assert_contains(&show(&folder, &["forecasts"]).ends(0).out, &["B 9/2", "15.0"]);
    assert_contains(&show(&folder, &["rounded"]).ends(0).out, &["2 kept forecasts for it", "15.0"]);
    // A reading out of line counts less in the outcome than in the table above it.
    folder.measure("B 9", "knocked", "13.4,12.4", "10.8,10.8");
    let text = show(&folder, &["forecast", "B 9"]).ends(0).out.replace("\n    ", " ");
    assert_contains(&text, &["a reading out of line counts less here than in the means"]);
}

#[test]
fn a_book_in_inches_is_shown_in_inches() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit=in", "--resolution=0.001in"]).ends(0);
    folder.run(&["record", "paper", "wove", "--caliper=0.005"]).ends(0);
    folder.run(&["record", "thread", "linen", "--laid=0.02"]).ends(0);
    let sewn = ["--paper=wove", "--thread=linen", "--sections=10", "--sheets=4"];
    folder.run(&[&["record", "trial", "T1"], &sewn[..]].concat()).ends(0);
    folder.measure("T1", "sewn", "0.53", "0.4");
    assert_contains(
        &show(&folder, &["T1"]).ends(0).out,
        &["spine in", "0.530      0.400     0.130  32.5"],
    );
    assert_contains(&show(&folder, &["papers"]).ends(0).out, &["0.0050 in"]);
    let spine = json(&folder, &["T1"])["trials"][0]["states"][0]["spine_mm"].as_f64().unwrap();
    assert!((spine - 0.53 * 25.4).abs() < 1e-9, "{spine}");
}

#[test]
fn looking_changes_nothing_and_needs_no_right_to_write() {
    let folder = book();
    let before = folder.bytes();
    for args in [&[][..], &["trials"], &["T1"], &["--struck"], &["--json"], &["--no-input"]] {
        let run = show(&folder, args).ends(0);
        assert!(run.err.is_empty(), "{args:?}: {}", run.err);
    }
    assert_eq!(folder.bytes(), before);
    // A reader may stop early.
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let mut command = folder.command(PROGRAM);
    let output = command.args(["show", "--json"]).stdout(writer).output().unwrap();
    assert!(output.status.success() && output.stderr.is_empty(), "{output:?}");
    // A damaged book is refused, as by every command.
    folder.write("papers.csv", "paper,grammage_gsm,caliper_mm,hardness,note\nx,,no,hard,\n");
    show(&folder, &["papers"]).ends(3).complains_of(&["papers.csv:2"]);
}

#[test]
fn an_empty_book_says_what_to_do() {
    let folder = Folder::new();
    show(&folder, &[]).ends(1).complains_of(&["no book found"]);
    folder.run(&["init", "."]).ends(0);
    assert_contains(
        &show(&folder, &["papers"]).ends(0).out,
        &["no papers yet: swellbook record paper"],
    );
    assert_contains(
        &show(&folder, &["trials"]).ends(0).out,
        &["no trials yet: swellbook record trial"],
    );
    show(&folder, &["T1"]).ends(3).complains_of(&["no entry 'T1' in the book"]);
}

#[test]
fn a_book_of_several_hands_says_who_sewed_a_block() {
    let folder = book();
    let listed = show(&folder, &["trials"]).ends(0).out;
    assert!(listed.contains("hand") && listed.contains("Ines"), "{listed}");
    folder.run(&["correct", "trial", "late one", "--guards", "0.3mm", "--hand", "Ines"]).ends(0);
    let of_one = show(&folder, &["trials"]).ends(0).out;
    assert!(!of_one.contains("hand"), "{of_one}");
    let served = Served::open(&folder);
    for page in ["/log?trial=late+one", "/correct?trial=late+one"] {
        served.get(page).is(200).says("guards 0.30 mm, sewn by Ines.");
    }
}
