//! A planned book has a name by which it is predicted, checked, printed and changed.

use crate::support::folder::{Folder, words};
use serde_json::Value;

const SAVED: [&str; 13] = [
    "predict", "--paper", "bond 80", "--thread", "linen 25", "--leaves", "158", "--sheets", "4",
    "--on=2", "--ends=3", "--target", "rounded",
];

fn run(folder: &Folder, args: &[&str], code: i32) -> (String, String) {
    let run = folder.run(args).ends(code);
    (run.out, run.err)
}

#[track_caller]
fn json(folder: &Folder, args: &[&str]) -> Value {
    folder.run(&[args, &["--json"]].concat()).json()
}

#[track_caller]
fn refused(folder: &Folder, args: &[&str], code: i32, parts: &[&str]) {
    let before = folder.bytes();
    folder.run(args).ends(code).complains_of(parts);
    assert_eq!(folder.bytes(), before, "{args:?}");
}

fn with_ledger() -> Folder {
    let folder = Folder::with_trial();
    let said = run(&folder, &[&SAVED[..], &["--save", "ledger"]].concat(), 0).0;
    let line = "saved plan ledger: 158 leaves in sections of 4 sheets of bond 80, linen 25, \
                two-on, 3 at each end all along, target rounded (to undo: swellbook \
                strike plan ledger --reason";
    assert!(said.starts_with(line), "{said}");
    folder
}

#[test]
fn a_saved_plan_says_what_the_options_said_to_every_command() {
    let folder = with_ledger();
    let rest = &SAVED[1..];
    let part = ["--sewn=8", "--spine=9.0", "--fore-edge=8.3"];
    for (command, more) in [("predict", &[][..]), ("next", &[]), ("midway", &part)] {
        let named = json(&folder, &[&[command, "--plan", "ledger"], more].concat());
        let typed = json(&folder, &[&[command], rest, more].concat());
        assert_eq!(named, typed, "{command}");
    }
    let card = run(&folder, &["report", "--plan", "ledger", "--out", "-"], 0).0;
    assert!(card.contains("Bench card: ledger"), "the card has the name of the plan");
}

/// The options of a book of stock that is not recorded yet.
const OF_NEW: [&str; 7] = [
    "--paper=new wove",
    "--caliper=0.12mm",
    "--hardness=medium",
    "--thread=new flax",
    "--count=lea 25/3",
    "--sections=24",
    "--sheets=4",
];

#[test]
fn a_plan_of_new_stock_can_be_used_once_the_stock_is_recorded() {
    let folder = Folder::with_trial();
    run(&folder, &[&["predict"], &OF_NEW[..], &["--save", "atlas"]].concat(), 0);
    let thread = ["record", "thread", "new flax", "--count", "lea 25/3", "--material", "linen"];
    run(&folder, &thread, 0);
    run(&folder, &["record", "paper", "new wove", "--caliper=0.12mm", "--hardness=medium"], 0);
    let stock = ["--paper=new wove", "--thread=new flax", "--sections=24", "--sheets=4"];
    let part = ["--sewn=8", "--spine=9.9", "--fore-edge=8.0"];
    for (command, more) in [("predict", &[][..]), ("next", &[]), ("midway", &part)] {
        let named = json(&folder, &[&[command, "--plan", "atlas"], more].concat());
        assert_eq!(named, json(&folder, &[&[command], &stock[..], more].concat()), "{command}");
    }
    let changed = run(&folder, &["predict", "--plan", "atlas", "--sections", "30"], 0);
    assert_eq!(changed.1, "", "the same figures need no note");
    run(&folder, &["report", "--plan", "atlas", "--out", "-"], 0);
    // What is typed now is a mistake, as before.
    let typed = [&["predict"], &OF_NEW[..]].concat();
    refused(&folder, &typed, 3, &["'new wove' is in the book; leave out --caliper and --hardness"]);
    run(&folder, &["correct", "paper", "new wove", "--caliper=0.13mm"], 0);
    let (_, note) = run(&folder, &["predict", "--plan", "atlas"], 0);
    let says = "note: the plan's figures for new wove are not used: the book has 0.13 mm, medium";
    assert!(note.contains(says), "{note}");
}

#[test]
fn a_kept_forecast_of_new_stock_is_a_plan_too() {
    let folder = Folder::with_trial();
    let kept = json(&folder, &[&["predict"], &OF_NEW[..], &["--keep", "atlas 1"]].concat());
    let again = json(&folder, &["predict", "--plan", "atlas 1"]);
    let mean = |value: &Value| value["swell_mm"]["mean"].as_f64().expect("a mean");
    assert!((mean(&again) - mean(&kept)).abs() < 1e-3 * mean(&kept), "{again}");
    assert_eq!(again["plan"]["runs"][0]["caliper_mm"], 0.12);
}

#[test]
fn a_kept_forecast_of_renamed_stock_is_a_plan_too() {
    let folder = Folder::with_trial();
    run(&folder, &[&SAVED[..], &["--keep", "ledger"]].concat(), 0);
    let before = json(&folder, &["predict", "--plan", "ledger"]);
    run(&folder, &["correct", "thread", "linen 25", "--name", "linen of Ann"], 0);
    run(&folder, &["correct", "paper", "bond 80", "--name", "bond of Ann"], 0);
    let after = json(&folder, &["predict", "--plan", "ledger"]);
    assert_eq!(after["swell_mm"], before["swell_mm"]);
    let run = &after["plan"]["runs"][0];
    assert_eq!((&run["paper"], &run["thread"]), (&"bond of Ann".into(), &"linen of Ann".into()));
}

#[test]
fn a_kept_forecast_keeps_the_guards_and_the_shape_as_they_were_given() {
    let folder = Folder::with_trial();
    let book = ["--paper=bond 80", "--thread=linen 25", "--sections=20", "--sheets=4"];
    let guards = ["--guards=tissue=0.05mm,per-section=2", "--round=90", "--shoulder=3mm"];
    let saves = ["--save=saved", "--keep=kept"];
    json(&folder, &[&["predict"], &book[..], &guards, &saves].concat());
    let forty = |name| json(&folder, &["predict", "--sections=40", "--plan", name]);
    let (saved, kept) = (forty("saved"), forty("kept"));
    assert_eq!(kept["plan"]["guards_mm"], 8.0);
    assert_eq!(kept, saved, "the target follows the shape of the longer book");
    let both = ["--target=10..50", "--keep=both"];
    json(&folder, &[&["predict"], &book[..], &guards, &both].concat());
    assert_eq!(forty("both")["target"]["low_percent"], 10.0);
    assert_eq!(forty("both")["geometry"], saved["geometry"]);
}

/// The arc and the shoulders are two words of a plan: an option for one leaves the other.
#[test]
fn an_option_for_the_arc_or_the_shoulder_replaces_only_its_own_word() {
    let folder = Folder::with_trial();
    let book = ["predict", "--paper=bond 80", "--thread=linen 25", "--sections=20", "--sheets=4"];
    run(&folder, &[&book[..], &["--round=90", "--shoulder=1.5mm", "--save=rs"]].concat(), 0);
    for (change, shape) in [
        (&["--shoulder=2mm"][..], &["--round=90", "--shoulder=2mm"][..]),
        (&["--round=100"], &["--round=100", "--shoulder=1.5mm"]),
        (&["--round=100", "--shoulder=2mm"], &["--round=100", "--shoulder=2mm"]),
        (&["--target=25..35"], &["--round=90", "--shoulder=1.5mm", "--target=25..35"]),
    ] {
        let changed = json(&folder, &[&["predict", "--plan=rs"], change].concat());
        assert_eq!(changed, json(&folder, &[&book[..], shape].concat()), "{change:?}");
    }
    let shoulder = ["--shoulder=2mm"];
    let alone = [&book[..], &shoulder].concat();
    refused(&folder, &alone, 2, &["missing --round"]);
    run(&folder, &[&book[..], &["--save=flat"]].concat(), 0);
    let flat = [&["predict", "--plan=flat"], &shoulder[..]].concat();
    refused(&folder, &flat, 3, &["--shoulder: give the arc of the spine too, as --round"]);
}

#[test]
fn what_was_saved_is_said_in_full() {
    let folder = Folder::with_trial();
    let book = ["predict", "--paper=bond 80", "--thread=linen 25", "--leaves=190", "--sheets=4"];
    let more = ["--on=2", "--ends=3+4", "--left-over=smaller", "--round=90", "--save=x"];
    let said = run(&folder, &[&book[..], &more].concat(), 0).0;
    for says in [
        "two-on, the first 3 and the last 4 all along",
        "the leaves left over in a smaller section",
        "rounded to an arc of 90 degrees",
    ] {
        assert!(said.contains(says), "{said}");
    }
}

#[test]
fn a_copy_with_a_change_is_a_plan_of_its_own() {
    let folder = with_ledger();
    let copy =
        ["predict", "--plan", "ledger", "--sheets=5", "--boned", "--save", "ledger, thinner"];
    run(&folder, &copy, 0);
    let changed = json(&folder, &["predict", "--plan", "ledger, thinner"]);
    let changes = ["--sheets=5", "--boned"];
    let typed: Vec<&str> =
        SAVED.into_iter().filter(|word| !["--sheets", "4"].contains(word)).collect();
    assert_eq!(changed, json(&folder, &[&typed[..], &changes].concat()));
    assert_eq!(json(&folder, &["predict", "--plan", "ledger"]), json(&folder, &SAVED));
    // What the copy was given can be removed again, and another extent replaces its own.
    let back =
        ["predict", "--plan", "ledger, thinner", "--sheets=4", "--boned=no", "--sections=20"];
    assert_eq!(json(&folder, &back)["plan"]["boned"], false);
    assert_eq!(json(&folder, &back)["sections"], 20);
}

/// Each change with whether the fore-edge stays, what is said of it, and what is not.
#[test]
fn a_fore_edge_is_used_only_for_the_leaves_and_the_paper_it_was_measured_on() {
    let folder = Folder::with_trial();
    let book = ["predict", "--paper=bond 80", "--thread=linen 25", "--sections=20", "--sheets=4"];
    let kept = ["--fore-edge=22", "--save=saved", "--keep=kept"];
    run(&folder, &[&book[..], &kept].concat(), 0);
    let (not_used, other) = ("is not used: it was measured on other leaves", "has 200 leaves");
    for (change, is_kept, says, says_not) in [
        (&["--on=2"][..], true, &[][..], &[not_used, other][..]),
        (&["--sheets=4"], true, &[], &[not_used, other]),
        (&["--leaves=160", "--sheets=5"], true, &[], &[not_used, other]),
        (&["--sections=24"], false, &[not_used], &["to keep the leaves"]),
        (&["--sheets=5"], false, &[not_used, other, "to keep the leaves, give --leaves 160"], &[]),
        (&["--sheets=5", "--fore-edge=22"], true, &[other], &[not_used]),
        (
            &["--paper=new", "--caliper=0.12mm", "--hardness=soft"],
            false,
            &["it was measured on another paper"],
            &[other],
        ),
    ] {
        for plan in ["saved", "kept"] {
            let asked = [&["predict", "--json", "--plan", plan][..], change].concat();
            let answer = folder.run(&asked).ends(0);
            let said = answer.err.clone();
            let used = answer.json()["fore_edge_mm"]["mean"].as_f64().expect("a mean");
            assert_eq!((used - 22.0).abs() < 1e-9, is_kept, "{asked:?}");
            says.iter().for_each(|it| assert!(said.contains(it), "{asked:?}: {said}"));
            says_not.iter().for_each(|it| assert!(!said.contains(it), "{asked:?}: {said}"));
        }
    }
    // A changed copy is saved without it.
    let change = ["predict", "--plan=saved", "--sections=24"];
    let changed = json(&folder, &change);
    run(&folder, &[&change[..], &["--save=longer"]].concat(), 0);
    assert_eq!(json(&folder, &["predict", "--plan=longer"]), changed);
}

#[test]
fn a_name_that_is_taken_is_replaced_only_when_asked_for() {
    let folder = with_ledger();
    let before = folder.bytes();
    let again = run(&folder, &["predict", "--plan", "ledger", "--save", "ledger"], 0);
    assert!(again.1.contains("plan ledger is saved already, in the same words"), "{}", again.1);
    assert_eq!(folder.bytes(), before);
    let other = ["predict", "--plan", "ledger", "--sheets=5", "--save", "ledger"];
    refused(&folder, &other, 3, &["--save: another plan has this name", "or add --replace"]);
    let said = run(&folder, &[&other[..], &["--replace"]].concat(), 0).0;
    assert!(said.contains("is still readable in plans.csv"), "{said}");
    assert_eq!(json(&folder, &["predict", "--plan", "ledger"])["plan"]["runs"][0]["sheets"], 5);
    run(&folder, &["strike", "plan", "ledger", "--reason", "sewn"], 0);
    let parts = ["--plan: no plan 'ledger' in the book, and no file of that name"];
    refused(&folder, &["predict", "--plan", "ledger"], 3, &parts);
    assert!(run(&folder, &["audit"], 0).0.contains("nothing suspect"));
}

#[test]
fn a_name_means_a_plan_then_a_kept_forecast_then_a_file() {
    let folder = with_ledger();
    let kept = [&SAVED[..], &["--guards=0.4mm", "--keep", "B7"]].concat();
    let kept = json(&folder, &kept);
    let named = json(&folder, &["predict", "--plan", "B7"]);
    for figure in
        ["/swell_mm", "/fore_edge_mm", "/chance", "/plan/runs", "/plan/guards_mm", "/target"]
    {
        assert_eq!(named.pointer(figure), kept.pointer(figure), "{figure}");
    }
    let mixed = "[[run]]\npaper='bond 80'\nthread='linen 25'\nsections=9\nsheets=2\n\
                 [[run]]\npaper='bond 80'\nthread='linen 25'\nsections=3\nsheets=4\n";
    folder.write("ledger", mixed);
    folder.write("mixed", mixed);
    let sections = |name: &str| json(&folder, &["predict", "--plan", name])["sections"].clone();
    assert_eq!(
        (sections("ledger"), sections("./ledger"), sections("mixed")),
        (20.into(), 12.into(), 12.into())
    );
    let names = ["no plan 'leger' in the book; did you mean 'ledger'? (and there is no file"];
    refused(&folder, &["predict", "--plan", "leger"], 3, &names);
    let names = ["it holds ledger, B7"];
    refused(&folder, &["predict", "--plan", "atlas"], 3, &names);
    let parts = ["--sheets can change only a plan of one run, and the plan in mixed has 2"];
    refused(&folder, &["predict", "--plan", "mixed", "--sheets=5"], 2, &parts);
    refused(
        &folder,
        &["predict", "--plan", "ledger.toml"],
        1,
        &["ledger.toml: this file does not"],
    );
    for name in ["ledger.toml", "./ledger", "-"] {
        for option in ["--save", "--keep"] {
            let save = [&SAVED[..], &[option, name]].concat();
            refused(&folder, &save, 3, &[option]);
        }
    }
}

/// The ends of a part of a mixed book may differ from each other, and are read back as saved.
#[test]
fn a_mixed_plan_comes_back_whole_saved_or_kept() {
    let folder = Folder::with_trial();
    let run_of = |sections| format!("paper=bond 80,thread=linen 25,sections={sections},sheets=4");
    let (first, last) = (run_of(18), run_of(2));
    let mixed = ["predict", "--run", &first, "--run", &last, "--on=2", "--ends=3"];
    let save = [&mixed[..], &["--save", "S; \"two\"", "--keep", "K"]].concat();
    let typed = json(&folder, &save);
    for name in ["K", "S; \"two\""] {
        let named = json(&folder, &["predict", "--plan", name]);
        assert_eq!(
            (&named["plan"], &named["swell_mm"]),
            (&typed["plan"], &typed["swell_mm"]),
            "{name}"
        );
    }
    let ends = json(&folder, &["predict", "--plan", "K", "--ends=1"]);
    let typed: Vec<&str> = mixed[..6].iter().copied().chain(["--ends=1"]).collect();
    assert_eq!(ends["swell_mm"], json(&folder, &typed)["swell_mm"]);
}

#[test]
fn a_choice_is_saved_as_the_plan_it_is() {
    let folder = Folder::with_trial();
    let asked = ["plan", "--paper", "bond 80", "--leaves=190", "--target", "rounded-backed"];
    let choice = json(&folder, &[&asked[..], &["--choice=3", "--save", "third"]].concat());
    let named = json(&folder, &["predict", "--plan", "third"]);
    for figure in ["/swell_mm", "/chance", "/plan/runs", "/target"] {
        assert_eq!(named.pointer(figure), choice.pointer(figure), "{figure}");
    }
    run(&folder, &[&asked[..], &["--save", "best"]].concat(), 0);
    let best = json(&folder, &[&asked[..], &["--choice=1"]].concat());
    assert_eq!(json(&folder, &["predict", "--plan", "best"])["swell_mm"], best["swell_mm"]);
}

/// A forecast and a plan that are written together are both saved, or neither is.
#[test]
fn a_forecast_that_cannot_be_kept_saves_no_plan() {
    let folder = Folder::with_trial();
    folder.measure("T1", "knocked", "11.1", "8.3");
    let both = [&SAVED[..], &["--save", "new", "--keep", "T1"]].concat();
    refused(&folder, &both, 3, &["--keep", "already measured"]);
}

#[test]
fn an_inch_book_saves_inches_as_inches() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", "in"]).ends(0);
    let plan = "predict --paper=new --caliper=0.004 --hardness=hard --thread=t --laid=0.018 \
                --sections=10 --sheets=4 --save inches";
    folder.run(&words(plan)).ends(0);
    let plans = folder.read("plans.csv");
    assert!(plans.contains("caliper=0.004 in") && plans.contains("laid=0.018 in"), "{plans}");
    let toml = folder.read("book.toml");
    folder.write("book.toml", toml.replace("\"in\"", "\"mm\""));
    let plan = json(&folder, &["predict", "--plan", "inches"]);
    let caliper = plan["plan"]["runs"][0]["caliper_mm"].as_f64().unwrap();
    assert!((caliper - 0.1016).abs() < 1e-12, "{caliper}");
}

#[test]
fn a_plan_that_was_damaged_by_hand_is_named_with_its_place() {
    let folder = with_ledger();
    let sound = folder.read("plans.csv");
    for (damaged, place, why) in [
        (sound.replace("sheets=4", "shets=4"), "plans.csv:2, column words", "'shets' is not known"),
        (
            sound.replace("paper=", "papier="),
            "plans.csv:2, column words",
            "'papier' is not known here; expected one of paper",
        ),
        (
            format!("{sound}{}", sound.lines().nth(1).unwrap()) + "\n",
            "plans.csv:3",
            "plan 'ledger' already exists",
        ),
    ] {
        folder.write("plans.csv", damaged);
        folder.run(&["predict", "--plan", "ledger"]).ends(3).complains_of(&[place, why]);
    }
    // A paper that no longer exists is reported when the plan is used, and can be replaced.
    folder.write("plans.csv", sound.replace("bond 80", "bond"));
    let parts = ["plan 'ledger': paper: no paper 'bond' in the book; did you mean 'bond 80'?"];
    folder.run(&["predict", "--plan", "ledger"]).ends(3).complains_of(&parts);
    json(&folder, &["predict", "--plan", "ledger", "--paper", "bond 80"]);
}
