//! Every entry has an id of its own, whatever its name contains. Ids in older books keep their
//! meaning.

use crate::support::folder::{self, Folder, Run, SEWING, trial};
use swellbook::book::{Book, reading_id};

/// Names that look like parts of ids, or like shell syntax.
const NAMES: [&str; 9] = [
    "A",
    "A/sewn",
    r"A\",
    r"A\/sewn",
    "A/sewn/1",
    "K/2",
    "it's \"new\"",
    r"back\slash/$HOME `id`",
    "büttén/1\u{2044}2",
];

fn with_trials() -> Folder {
    let folder = Folder::with_trial();
    for name in NAMES {
        folder.run(&trial(name)).ends(0);
    }
    folder
}

fn measured(folder: &Folder, trial: &str, place: &str) -> Run {
    let what = ["record", "readings", trial, "--state", "sewn", "--place", place];
    folder.run(&[&what[..], &["--spine", "11.0", "--fore-edge", "8.3"]].concat()).ends(0)
}

fn kept(folder: &Folder, name: &str) -> Run {
    folder.run(&[&["predict"], &SEWING[..], &["--target", "20..30", "--keep", name]].concat())
}

/// Runs the undo command that a result offers, as a person would paste it.
fn undo(folder: &Folder, said: &str) {
    let from = said.rfind("swellbook strike").expect("a command");
    let command = said[from..].split(" --reason").next().expect("a command");
    folder.paste(&format!("{command} --reason undone"));
}

/// The readings and forecasts that count, by trial and place or by name and id, in file order.
fn counting(folder: &Folder) -> Vec<String> {
    let book = Book::open(folder.path()).expect("a book");
    let reading = |reading: &swellbook::trade::Reading| {
        format!("reading [{}] [{}]", reading.trial, reading.place)
    };
    let forecasts = book.forecasts().iter().zip(book.forecast_ids());
    let forecasts = forecasts.map(|(kept, id)| format!("forecast [{}] {id}", kept.name));
    book.readings().iter().map(reading).chain(forecasts).collect()
}

#[test]
fn the_offered_undo_strikes_the_entry_just_written_and_no_other() {
    let folder = with_trials();
    // One that is kept again after a strike has the place of its first row.
    let first = kept(&folder, "B1");
    let other = kept(&folder, "B2").ends(0).out;
    undo(&folder, &first.ends(0).out);
    let again = kept(&folder, "B1").ends(0).out;
    assert!(again.contains("strike forecast B1/2 "), "{again}");
    [again, other].iter().for_each(|said| undo(&folder, said));
    let places = ["1", "sewn/1", r"a\/b", "it's"];
    for (trial, place) in NAMES.into_iter().flat_map(|name| places.map(|place| (name, place))) {
        let before = counting(&folder);
        let said = measured(&folder, trial, place).out;
        assert_eq!(counting(&folder).len(), before.len() + 1);
        undo(&folder, &said);
        assert_eq!(counting(&folder), before, "{said}");
        measured(&folder, trial, place);
    }
    // A second forecast of one name, and names that look like the id of one.
    for name in ["K", "K/2", "K", r"K\", "K/2", "it's/2", r"K\/2", "K/2/2", "K"] {
        let before = counting(&folder);
        let said = kept(&folder, name).ends(0).out;
        undo(&folder, &said);
        assert_eq!(counting(&folder), before, "{said}");
        kept(&folder, name).ends(0);
    }
    assert_eq!(counting(&folder).len(), NAMES.len() * places.len() + 9);
}

#[test]
fn no_two_readings_share_an_id() {
    let folder = with_trials();
    measured(&folder, "A/sewn", "1");
    measured(&folder, "A", "sewn/1");
    measured(&folder, r"A\", "sewn/1");
    measured(&folder, r"A\/sewn", "1");
    let book = Book::open(folder.path()).expect("a book");
    let ids: Vec<String> = book.readings().iter().map(reading_id).collect();
    assert_eq!(
        ids,
        [r"A\/sewn/sewn/1", r"A/sewn/sewn\/1", r"A\\/sewn/sewn\/1", r"A\\\/sewn/sewn/1"]
    );
}

#[test]
fn an_id_typed_without_backslashes_is_accepted_if_only_one_entry_has_it() {
    let folder = with_trials();
    measured(&folder, "A/sewn/1", "head");
    folder.run(&["strike", "reading", "A/sewn/1/sewn/head", "--reason", "x"]).ends(0);
    assert_eq!(counting(&folder), [""; 0]);
    assert!(folder.read("struck.csv").contains(r"A\/sewn\/1/sewn/head"));
    measured(&folder, "A/sewn", "1");
    measured(&folder, "A", "sewn/1");
    let before = folder.bytes();
    let run = folder.run(&["strike", "reading", "A/sewn/sewn/1", "--reason", "x"]).ends(3);
    run.complains_of(&["several", r"'A\/sewn/sewn/1'", r"'A/sewn/sewn\/1'"]);
    assert_eq!(folder.bytes(), before);
    folder.run(&["strike", "reading", r"A/sewn/sewn\/1", "--reason", "x"]).ends(0);
    assert_eq!(counting(&folder), ["reading [A/sewn] [1]"]);
    folder.run(&["strike", "reading", "A/sewn/sewn/1", "--reason", "x"]).ends(0);
    // A name without parts is its own id.
    folder.run(&["record", "target", r"a\b", "2..10"]).ends(0);
    folder.run(&["strike", "target", "ab", "--reason", "x"]).ends(3);
    folder.run(&["strike", "target", r"a\b", "--reason", "x"]).ends(0);
}

#[test]
fn strikes_of_an_older_book_mean_what_they_meant() {
    let folder = with_trials();
    measured(&folder, "A/sewn", "1");
    measured(&folder, "A", "1");
    kept(&folder, "K/2").ends(0);
    kept(&folder, "L").ends(0);
    kept(&folder, "L").ends(0);
    let older = "reading,A/sewn/sewn/1,older,2026-02-01\nforecast,K/2,older,2026-02-01\n\
                 forecast,L/2,older,2026-02-01\n";
    folder.write("struck.csv", folder.read("struck.csv") + older);
    assert_eq!(counting(&folder), ["reading [A] [1]", "forecast [L] L"]);
    // Recorded again, it counts.
    measured(&folder, "A/sewn", "1");
    assert_eq!(counting(&folder).len(), 3);
    // In an id of one part, a backslash does not escape anything.
    folder.run(&["record", "target", r"a\b", "2..10"]).ends(0);
    folder.write("struck.csv", folder.read("struck.csv") + "target,ab,x,2026-02-01\n");
    folder.run(&["fit"]).ends(3).complains_of(&["no target 'ab' to strike"]);
}

#[test]
fn a_forecast_never_takes_the_strike_of_another() {
    let folder = with_trials();
    kept(&folder, "K/2").ends(0);
    folder.write("struck.csv", folder.read("struck.csv") + "forecast,K/2,older,2026-02-01\n");
    kept(&folder, "K").ends(0);
    let before = folder.bytes();
    kept(&folder, "K").ends(3).complains_of(&["'K/2'", r"as K\/2", "struck.csv"]);
    assert_eq!(folder.bytes(), before);
    let mended = folder.read("struck.csv").replace("forecast,K/2", r"forecast,K\/2");
    folder.write("struck.csv", mended);
    kept(&folder, "K").ends(0);
    assert_eq!(counting(&folder), ["forecast [K] K", "forecast [K] K/2"]);
}

#[test]
fn a_trial_and_a_reading_of_one_id_are_struck_apart() {
    let folder = with_trials();
    measured(&folder, "A", "1");
    measured(&folder, "A/sewn/1", "1");
    folder.run(&["strike", "trial", "A", "A/sewn/1", "--reason", "x"]).ends(0);
    assert_eq!(counting(&folder), [""; 0]);
    folder.run(&trial("A")).ends(0);
    assert_eq!(counting(&folder), [""; 0], "the reading was struck with its trial");
}

/// A strike in the form of older books means a reading whose exact id is different.
#[test]
fn a_reading_never_takes_the_strike_of_another() {
    for (trial, place, older, new, its_place) in [
        (r"A\\B", "1", r"A\\B/sewn/1", r"A\B", "1"),
        (r"A\", "sewn/1", r"A\/sewn/sewn/1", "A/sewn", "1"),
    ] {
        let folder = with_trials();
        for name in [r"A\\B", r"A\B"] {
            folder.run(&folder::trial(name)).ends(0);
        }
        measured(&folder, trial, place);
        let strike = format!("reading,{older},older,2026-02-01\n");
        folder.write("struck.csv", folder.read("struck.csv") + &strike);
        assert_eq!(counting(&folder), [""; 0]);
        let before = folder.bytes();
        let what = ["record", "readings", new, "--state", "sewn", "--place", its_place];
        let run = folder.run(&[&what[..], &["--spine", "11.0", "--fore-edge", "8.3"]].concat());
        let exact = trial.replace('\\', r"\\") + "/sewn/" + &place.replace('/', r"\/");
        run.ends(3).complains_of(&[
            &format!("reading '{older}'"),
            &format!("as {exact} "),
            "struck.csv",
        ]);
        assert_eq!(folder.bytes(), before);
        let mended = folder.read("struck.csv").replace(&strike, &strike.replace(older, &exact));
        folder.write("struck.csv", mended);
        measured(&folder, new, its_place);
        assert_eq!(counting(&folder), [format!("reading [{new}] [{its_place}]")]);
    }
}

/// The readings that come back with a re-recorded trial were struck only with the trial.
#[test]
fn a_trial_recorded_again_brings_its_readings_back_as_before() {
    let folder = with_trials();
    measured(&folder, r"A\/sewn", "1");
    folder.write("struck.csv", folder.read("struck.csv") + "trial,A\\/sewn,by hand,2026-02-01\n");
    assert_eq!(counting(&folder), [""; 0]);
    folder.run(&trial(r"A\/sewn")).ends(0);
    assert_eq!(counting(&folder), [r"reading [A\/sewn] [1]"]);
}

#[test]
fn a_reading_that_two_ids_mean_is_struck_once() {
    let folder = Folder::with_trial();
    for place in ["1", "2"] {
        measured(&folder, "T1", place).ends(0);
    }
    let ids = ["strike", "reading", "T1/sewn", "T1/sewn/2", "T1/sewn/2", "--reason", "not zeroed"];
    let said = folder.run(&ids).ends(0).out;
    assert!(said.starts_with("struck reading T1/sewn/1, T1/sewn/2: not zeroed"), "{said}");
}

#[test]
fn the_name_of_a_trial_is_not_taken_for_a_reading() {
    let folder = Folder::with_trial();
    folder.run(&trial("T 2")).ends(0);
    let strike =
        |kind, ids: &[&str]| folder.run(&[&["strike", kind], ids, &["--reason", "x"]].concat());
    let none = "'T 2' is a trial; it has no readings yet; to strike the whole trial: swellbook \
                strike trial \"T 2\"";
    strike("reading", &["T 2"]).ends(3).complains_of(&[none]);
    measured(&folder, "T 2", "head");
    let some =
        "its readings are named \"T 2/sewn/head\" and so on, those of one state \"T 2/sewn\"; to";
    strike("reading", &["T 2"]).ends(3).complains_of(&["'T 2' is a trial; ", some]);
    strike("reading", &["T 2/sewn"]).ends(0);
    let both = strike("trial", &["T1", "T 2"]).ends(0).out;
    assert!(both.starts_with("struck trials T1, T 2 and their readings: x"), "{both}");
}

#[test]
fn an_unknown_place_gets_the_places_of_its_trial() {
    let folder = Folder::with_trial();
    folder.run(&trial("T2")).ends(0);
    for (trial, place) in [("T2", "head"), ("T1", "head"), ("T1", "tail")] {
        measured(&folder, trial, place);
    }
    for (typed, says) in [
        ("T1/sewn/centre", "it holds T1/sewn/head, T1/sewn/tail"),
        ("T1/knocked pressed/centre", "it holds T1/sewn/head, T1/sewn/tail"),
        ("T9/knocked pressed/centre", "it holds T2/sewn/head, T1/sewn/head, T1/sewn/tail"),
    ] {
        for command in ["strike", "correct"] {
            let run = folder.run(&[command, "reading", typed, "--reason", "x"]);
            run.ends(3).complains_of(&[says]);
        }
    }
}

#[test]
fn all_readings_of_a_state_are_struck_by_the_name_of_the_trial_as_it_is_in_ids() {
    let folder = with_trials();
    for (trial, place) in [("A/sewn", "1"), ("A/sewn", "2"), (r"A\/sewn", "1"), ("A", "1")] {
        measured(&folder, trial, place);
    }
    let before = counting(&folder);
    for typed in [r"A\/sewn/sewn", "A/sewn/sewn"] {
        let said = folder.run(&["strike", "reading", typed, "--reason", "x"]).ends(0).out;
        assert!(said.starts_with(r"struck reading A\/sewn/sewn/1, A\/sewn/sewn/2: x"), "{said}");
        folder.run(&["restore", "reading", typed]).ends(0);
        assert_eq!(counting(&folder).len(), before.len());
    }
    let said = folder.run(&["correct", "reading", r"A\/sewn/as sewn/2", "--note", "x"]).ends(0).out;
    assert!(said.starts_with(r"corrected reading A\/sewn/sewn/2"), "{said}");
    let other = r"A\\\/sewn/sewn";
    let said = folder.run(&["strike", "reading", other, "--reason", "x"]).ends(0).out;
    assert!(said.starts_with(r"struck reading A\\\/sewn/sewn/1: x"), "{said}");
}
