//! What was corrected, moved or brought back keeps the place that it had in the order of the book.

use crate::support::folder::Folder;
use serde_json::Value;
use swellbook::units::quoted;

fn predict(folder: &Folder, sections: &str, name: &str) {
    let plan = ["predict", "--paper", "bond 80", "--thread", "linen 25", "--sheets", "4"];
    folder.run(&[&plan[..], &["--sections", sections, "--keep", name]].concat()).ends(0);
}

fn json(folder: &Folder, args: &[&str]) -> Value {
    serde_json::from_str(&folder.run(args).ends(0).out).expect("JSON")
}

/// The forecasts as `show` lists them, without their ids.
fn forecasts(folder: &Folder) -> Vec<(String, bool)> {
    let all = json(folder, &["show", "forecasts", "--json"]);
    let list = all["forecasts"].as_array().expect("forecasts").iter();
    let mut listed: Vec<_> = list
        .map(|one| (one["plan"].to_string(), one["replaced"].as_bool().expect("replaced")))
        .collect();
    listed.sort();
    listed
}

#[test]
fn a_forecast_that_is_brought_back_does_not_replace_a_later_one() {
    for back in [&["undo"][..], &["restore", "forecast", "K"]] {
        let folder = Folder::with_trial();
        predict(&folder, "8", "K");
        predict(&folder, "14", "K");
        let before = forecasts(&folder);
        assert_eq!(before.iter().filter(|(_, replaced)| *replaced).count(), 1, "{before:?}");
        folder.run(&["strike", "forecast", "K", "--reason", "old"]).ends(0);
        folder.run(back).ends(0);
        assert_eq!(forecasts(&folder), before, "{back:?}");
        // It is there once, however often it is brought back.
        folder.run(&["restore", "forecast", "K"]).ends(3);
        assert_eq!(forecasts(&folder), before, "{back:?}");
        predict(&folder, "9", "K");
        let last = &json(&folder, &["show", "forecasts", "--json"])["forecasts"][0];
        assert!(last["plan"].to_string().contains('9') && last["replaced"] == false, "{last}");
    }
}

#[test]
fn a_forecast_follows_its_trial_to_another_name() {
    let folder = Folder::with_trial();
    predict(&folder, "10", "K");
    let trial = ["record", "trial", "K", "--paper", "bond 80", "--thread", "linen 25"];
    folder.run(&[&trial[..], &["--sections", "10", "--sheets", "4"]].concat()).ends(0);
    let sewn = ["record", "readings", "K", "--state", "knocked"];
    let sewn = [&sewn[..], &["--spine", "10.2,10.3", "--fore-edge", "8.0,8.05"]].concat();
    folder.run(&sewn).ends(0);
    let listed = |folder: &Folder| folder.run(&["show", "forecasts"]).ends(0).out;
    assert!(listed(&folder).contains("came out"), "{}", listed(&folder));
    let said = folder.run(&["correct", "trial", "K", "--name", "K 1"]).ends(0).out;
    assert!(said.contains(", with its 2 readings and 1 forecast: corrected"), "{said}");
    let shown = listed(&folder);
    assert!(shown.contains("K 1") && shown.contains("came out"), "{shown}");
    folder.run(&["undo"]).ends(0);
    let shown = listed(&folder);
    assert!(!shown.contains("K 1") && shown.contains("came out"), "{shown}");
}

#[test]
fn a_saved_plan_follows_a_paper_a_thread_and_a_target_to_another_name() {
    let folder = Folder::with_trial();
    let plan = ["predict", "--paper", "bond 80", "--thread", "linen 25", "--sections", "10"];
    let more = ["--sheets", "4", "--target", "rounded", "--save", "alb"];
    folder.run(&[&plan[..], &more].concat()).ends(0);
    let before = folder.run(&["predict", "--plan", "alb"]).ends(0).out;
    for (args, said) in [
        (["paper", "bond 80", "bond, 90"], "with its 1 trial and 1 saved plan"),
        (["thread", "linen 25", "flax"], "with its 1 trial and 1 saved plan"),
        (["target", "rounded", "round"], "with its 1 saved plan"),
    ] {
        let [kind, old, new] = args;
        let out = folder.run(&["correct", kind, old, "--name", new]).ends(0).out;
        assert!(out.contains(said), "{out}");
        let now = folder.run(&["predict", "--plan", "alb"]).ends(0).out;
        let chance = |text: &str| text.matches(" %").count();
        assert_eq!(chance(&now), chance(&before), "{now}");
    }
    let plans = folder.read("plans.csv");
    let last = plans.lines().last().unwrap();
    for name in ["bond, 90", "thread=flax", "target=round;"] {
        assert!(last.contains(name), "{last}");
    }
    for _ in 0..3 {
        folder.run(&["undo"]).ends(0);
    }
    assert_eq!(folder.run(&["predict", "--plan", "alb"]).ends(0).out, before);
}

/// Sewings of one day, whose order matters for the moving average.
fn of_one_day() -> Folder {
    let folder = Folder::with_trial();
    for number in 1..=14 {
        let name = format!("H{number}");
        let trial = ["record", "trial", &name, "--paper", "bond 80", "--thread", "linen 25"];
        folder.run(&[&trial[..], &["--sections", "10", "--sheets", "4"]].concat()).ends(0);
        let spine = format!("{:.2}", 11.0 + 0.03 * f64::from(number * 5 % 7));
        let sewn = ["record", "readings", &name, "--state", "sewn", "--spine", &spine];
        folder.run(&[&sewn[..], &["--fore-edge", "8.0"]].concat()).ends(0);
    }
    folder
}

#[test]
fn a_corrected_or_renamed_trial_keeps_its_place_among_the_sewings_of_its_day() {
    let folder = of_one_day();
    let drift = |folder: &Folder| {
        let history = json(folder, &["fit", "--json"])["history"].clone();
        let points = history["points"].as_array().expect("points").clone();
        let order: Vec<String> = points.iter().map(|point| point["trial"].to_string()).collect();
        (order, history["scatter"].clone())
    };
    let before = drift(&folder);
    assert_eq!(before.0.len(), 14);
    folder.run(&["correct", "trial", "H3", "--note", "by lamplight"]).ends(0);
    assert_eq!(drift(&folder), before);
    folder.run(&["undo"]).ends(0);
    assert_eq!(drift(&folder), before);
    folder.run(&["correct", "trial", "H3", "--name", "H 3"]).ends(0);
    let shown = json(&folder, &["show", "trials", "--json"]);
    assert_eq!(
        (&shown["trials"][0]["trial"], &shown["trials"][11]["trial"]),
        (&"H14".into(), &"H 3".into())
    );
    let renamed = drift(&folder);
    assert_eq!((&*renamed.0[2], &renamed.1), ("\"H 3\"", &before.1));
}

#[test]
fn a_trial_recorded_again_after_a_strike_is_a_new_one() {
    let folder = of_one_day();
    folder.run(&["strike", "trial", "H3", "--reason", "fell apart"]).ends(0);
    folder.run(&["strike", "trial", "H4", "--reason", "a slip"]).ends(0);
    folder.run(&["restore", "trial", "H4"]).ends(0);
    let trial = ["record", "trial", "H3", "--paper", "bond 80", "--thread", "linen 25"];
    folder.run(&[&trial[..], &["--sections", "10", "--sheets", "4"]].concat()).ends(0);
    let listed = json(&folder, &["show", "trials", "--json"])["trials"].clone();
    let name = |at: usize| listed[at]["trial"].clone();
    assert_eq!([name(0), name(1), name(11), name(12)], ["H3", "H14", "H4", "H2"]);
}

#[test]
fn what_lives_on_under_another_name_is_not_brought_back_beside_it() {
    let folder = Folder::with_trial();
    predict(&folder, "10", "T1");
    for (kind, old, new) in [
        ("trial", "T1", "T 2"),
        ("paper", "bond 80", "bond"),
        ("thread", "linen 25", "linen"),
        ("target", "rounded", "round"),
    ] {
        folder.run(&["correct", kind, old, "--name", new]).ends(0);
        let rename = format!("correct {kind} {} --name {}", quoted(new), quoted(old));
        let told = [
            &*format!("{kind} '{old}' is in the book as '{new}'"),
            &*format!("to give it its old name again: swellbook {rename}"),
        ];
        folder.run(&["restore", kind, old]).ends(3).complains_of(&told);
    }
    let struck = "no forecast of this book is struck";
    folder.run(&["restore", "forecast", "T1"]).ends(3).complains_of(&[struck]);
    let audit = folder.run(&["audit"]).ends(0).out;
    assert!(!audit.contains("has the same"), "{audit}");
    // Another trial of the old name was struck since.
    let trial = ["record", "trial", "T1", "--paper", "bond", "--thread", "linen"];
    folder.run(&[&trial[..], &["--sections", "6", "--sheets", "4"]].concat()).ends(0);
    folder.run(&["strike", "trial", "T1", "--reason", "a slip"]).ends(0);
    folder.run(&["restore", "trial", "T1"]).ends(0);
    let listed = json(&folder, &["show", "trials", "--json"])["trials"].clone();
    assert_eq!(listed.as_array().map(Vec::len), Some(2), "{listed}");
}
