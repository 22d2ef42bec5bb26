//! `plan`: its odds match drawing, its rows match `predict`, and its answers are complete.

use crate::support::folder::Folder;
use crate::support::random_books::{Random, Size, entries, on_disk};
use serde_json::Value;
use std::collections::BTreeSet;
use swellbook::book::Config;
use swellbook::jobs::fitted::Bench;
use swellbook::model::{Gaussian, Plan, Prediction, Run};
use swellbook::trade::{Sewing, State};

fn json(folder: &Folder, command: &str, more: &[&str]) -> Value {
    folder.on_tour(&[&[command, "--paper", "Alder bond", "--json"], more].concat()).json()
}

fn plan(folder: &Folder, more: &[&str]) -> Value {
    json(folder, "plan", &[&["--target", "rounded-backed"], more].concat())
}

fn rows(value: &Value) -> &[Value] {
    value["choices"].as_array().expect("choices")
}

/// A random book, fitted, and a few plans of its stock.
fn predicted(seed: u64) -> (Bench, Vec<Plan>) {
    let (_dir, book) = on_disk(&Config::default(), entries(seed, Size::ANY));
    let bench = Bench::of(&book).expect("a made-up book can be fitted");
    let mut plans = Vec::new();
    for thread in book.threads() {
        for (sections, sheets, on, boned) in
            [(24, 4, 1, false), (24, 4, 1, true), (32, 3, 2, false), (12, 8, 3, true)]
        {
            let sewing = Sewing::new(sections, sheets, on, 3 * u16::from(on > 1)).unwrap();
            let paper = bench.paper(&book.papers()[0].name).expect("a paper");
            let thread = bench.thread(&thread.name).expect("a thread");
            let run = Run { paper, thread, sewing, boned };
            plans.push(Plan::new(vec![run], State::Knocked).expect("a plan"));
        }
    }
    (bench, plans)
}

/// The share of a million books that meet the band. The spreads are drawn by weight, then W, then
/// F.
fn drawn_share(prediction: &Prediction, low: f64, high: f64, seed: u64) -> f64 {
    const DRAWS: usize = 1_000_000;
    let mut random = Random::new(seed);
    let parts: Vec<(f64, f64, f64)> = prediction.swell.components().collect();
    let mut below = 0.0;
    let sums: Vec<f64> = parts
        .iter()
        .map(|part| {
            below += part.0;
            below
        })
        .collect();
    let Gaussian { mean, sd } = prediction.fore_edge;
    let met = (0..DRAWS).filter(|_| {
        let at = random.uniform() * below;
        let (_, m, s) = parts[sums.partition_point(|&sum| sum < at).min(parts.len() - 1)];
        let (swell, edge) = (m + s * random.normal(), mean + sd * random.normal());
        (low..=high).contains(&(100.0 * swell / edge))
    });
    met.count() as f64 / DRAWS as f64
}

/// The tolerance is four standard errors of a share of a million draws, at worst 0.002.
#[test]
fn odds_from_the_closed_form_agree_with_a_million_draws() {
    for (seed, mut plan) in [5, 11].map(|seed| (seed, predicted(seed).1.remove(0))) {
        let (bench, _) = predicted(seed);
        if seed == 11 {
            plan.fore_edge = Some(Gaussian { mean: 22.0, sd: 2.0 });
        }
        let prediction = bench.fit.predict(&plan);
        let middle = prediction.percent_quantile(0.5).round();
        let (low, high) = (middle - 3.0, middle + 1.0);
        let chance = prediction.chance(low, high);
        assert!((0.1..0.95).contains(&chance), "{chance} says little");
        let share = drawn_share(&prediction, low, high, 20_260_408 + seed);
        let error = (chance * (1.0 - chance) / 1e6).sqrt();
        assert!((share - chance).abs() < 4.0 * error, "{chance} said, {share} drawn");
    }
}

#[test]
fn several_plans_at_once_are_predicted_as_each_alone_to_the_last_bit() {
    for seed in 0..4 {
        let (bench, plans) = predicted(seed);
        for (plan, together) in plans.iter().zip(bench.fit.predict_each(&plans)) {
            let alone = bench.fit.predict(plan);
            assert!(together.swell.components().eq(alone.swell.components()), "{plan:?}");
            assert_eq!(together.fore_edge, alone.fore_edge);
        }
    }
}

fn text(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}

/// The options of `predict` for a row.
fn as_flags(row: &Value) -> Vec<String> {
    let mut flags: Vec<String> = ["thread", "sections", "sheets", "on"]
        .iter()
        .flat_map(|key| [format!("--{key}"), text(&row[*key])])
        .collect();
    flags.push(format!("--ends={}+{}", row["first_ends"], row["last_ends"]));
    flags.extend((row["boned"] == true).then(|| "--boned".to_owned()));
    flags
}

#[test]
fn a_row_agrees_with_predict_about_the_same_plan() {
    let folder = Folder::toured();
    for edge in [&[][..], &["--fore-edge", "20.1,20.3"]] {
        let all = plan(&folder, &[&["--leaves", "192", "--all"], edge].concat());
        for row in rows(&all).iter().filter(|row| row["blank_leaves"] == 0).step_by(17) {
            let flags = as_flags(row);
            let mut more: Vec<&str> = flags.iter().map(String::as_str).collect();
            more.extend(["--target", "rounded-backed"].iter().chain(edge));
            let alone = json(&folder, "predict", &more);
            for key in ["chance", "swell_percent", "swell_mm"] {
                assert_eq!(row[key], alone[key], "{key} of {row}");
            }
        }
    }
}

#[test]
fn a_place_in_the_ranking_gives_its_whole_prediction() {
    let folder = Folder::toured();
    let leaves = ["--leaves", "190"];
    let all = plan(&folder, &leaves);
    let third = plan(&folder, &[&leaves[..], &["--choice", "3"]].concat());
    assert_eq!(third["chance"], rows(&all)[2]["chance"]);
    assert_eq!(third["plan"]["runs"][0]["thread"], rows(&all)[2]["thread"]);
    let args = ["--book", "tour", "plan", "--paper", "Alder bond", "--target", "25..35"];
    let beyond = [&args[..], &leaves, &["--choice", "500"]].concat();
    folder.run(&beyond).ends(3).complains_of(&["choice 500 does not exist; the last is 144"]);
}

#[test]
fn every_combination_is_there_once_and_holds_the_leaves() {
    let folder = Folder::toured();
    let all = plan(&folder, &["--leaves", "190", "--all"]);
    assert_eq!((&all["considered"], rows(&all).len()), (&144.into(), 3 * 8 * 3 * 2));
    let key = |row: &Value| ["thread", "sheets", "on", "boned"].map(|key| text(&row[key]));
    let keys: BTreeSet<[String; 4]> = rows(&all).iter().map(key).collect();
    assert_eq!(keys.len(), 144);
    for row in rows(&all) {
        let number = |key: &str| row[key].as_u64().expect("a whole number");
        assert_eq!(2 * number("sections") * number("sheets"), 190 + number("blank_leaves"));
        assert!(number("blank_leaves") < 2 * number("sheets"), "{row}");
    }
    let names: Vec<&String> = rows(&all)[0].as_object().expect("an object").keys().collect();
    let wanted = ["thread", "sheets", "sections", "on", "ends", "boned", "chance", "group"];
    let more = [
        "first_ends",
        "last_ends",
        "swell_percent",
        "thread_m",
        "warnings",
        "blank_leaves",
        "swell_mm",
        "beyond",
    ];
    assert_eq!(
        names.into_iter().map(String::as_str).collect::<BTreeSet<_>>(),
        wanted.into_iter().chain(more).collect()
    );
}

#[test]
fn each_change_is_one_change_and_helps() {
    let folder = Folder::toured();
    let from = "thread=flax 25/3,sheets=3,on=2,ends=2";
    let value = plan(&folder, &["--leaves", "192", "--from", from]);
    let (now, changes) = (&value["from"], value["changes"].as_array().expect("changes"));
    assert_eq!((&now["ends"], &now["sections"]), (&2.into(), &32.into()));
    let percent = |row: &Value| (100.0 * row["chance"].as_f64().expect("a chance")).round();
    let mut last = 100.0;
    for change in changes {
        let differ = ["thread", "sheets", "on", "boned"].into_iter();
        let differ: Vec<&str> = differ.filter(|key| change[*key] != now[*key]).collect();
        assert_eq!(differ, [change["what"].as_str().expect("a word")]);
        assert!(percent(change) > percent(now) && percent(change) <= last, "{change}");
        last = percent(change);
    }
    let weak = plan(&folder, &["--leaves", "192", "--from", "thread=flax 40/3,sheets=8,on=3"]);
    let weak = weak["changes"].as_array().expect("changes");
    assert!(!weak.is_empty() && weak.iter().any(|change| change["what"] == "sheets"));
}

#[test]
fn when_nothing_meets_the_target_it_says_so_first_and_what_comes_nearest() {
    let folder = Folder::toured();
    let asked = ["--book", "tour", "plan", "--paper", "Alder bond", "--leaves", "192"];
    let out = folder.run(&[&asked[..], &["--target", "180..190"]].concat()).ends(0).out;
    assert!(out.starts_with("Nothing here meets the target: the best odds are "), "{out}");
    let asked = ["--target", "180..190", "--leaves", "192", "--all"];
    let value = json(&folder, "plan", &asked);
    let median = |row: &Value| row["swell_percent"]["q50"].as_f64().expect("a median");
    let most = rows(&value).iter().map(median).fold(f64::MIN, f64::max);
    assert_eq!((&value["met"], median(&value["nearest"])), (&false.into(), most));
    let medians: Vec<f64> = rows(&value).iter().map(median).collect();
    assert!(medians.is_sorted_by(|one, other| one >= other), "the nearest is not first");
    let way = |row: &Value| ["thread", "sheets", "on", "boned"].map(|key| row[key].clone());
    assert_eq!(way(&value["nearest"]), way(&rows(&value)[0]));
    // The single changes to a plan come nearer, too.
    let from = ["--target", "180..190", "--leaves", "192", "--from", "thread=flax 25/3,sheets=4"];
    let value = json(&folder, "plan", &from);
    let changes = value["changes"].as_array().expect("changes");
    let medians: Vec<f64> = changes.iter().map(median).collect();
    assert!(medians.is_sorted_by(|one, other| one >= other) && medians.len() > 1, "{medians:?}");
    assert!(medians.iter().all(|it| *it >= median(&value["from"]) + 1.0), "{medians:?}");
    let out =
        folder.run(&[&["--book", "tour", "plan", "--paper", "Alder bond"], &from[..]].concat());
    let out = out.ends(0).out.replace('\n', " ");
    assert!(out.contains("No single change meets the target. Those that bring its swell"), "{out}");
}

#[test]
fn a_book_that_would_be_blank_for_the_most_part_is_noted() {
    let folder = Folder::toured();
    let asked = ["plan", "--paper", "Alder bond", "--target", "rounded", "--sheets"];
    let err = |more: &[&str]| folder.on_tour(&[&asked[..], more].concat()).ends(0).err;
    let says = "note: 11 of the 12 leaves of choice 1 would be blank; check the number of leaves";
    assert!(err(&["6", "--leaves", "1"]).contains(says));
    assert_eq!(err(&["6", "--leaves", "10"]), "");
}

#[test]
fn an_impossible_value_is_refused_by_its_flag() {
    let folder = Folder::toured();
    let asked = ["--book", "tour", "plan", "--paper", "Alder bond", "--target", "25..35"];
    let cases: [(&[&str], &[&str]); 10] = [
        (&["--leaves", "0"], &["--leaves", "1..80000"]),
        (&["--leaves", "60000"], &["--leaves", "more sections of 1 to 8 sheets"]),
        (&["--leaves", "192", "--sheets", "6..3"], &["--sheets", "lower number first"]),
        (&["--leaves", "192", "--thread", "flax 25/4"], &["--thread", "did you mean"]),
        (&["--leaves", "192", "--height", "1mm"], &["--height", "20..1200 mm"]),
        (&["--leaves", "192", "--stations", "0"], &["--stations"]),
        (&["--leaves", "192", "--state", "unsewn"], &["unsewn block has no swell"]),
        (&["--leaves", "192", "--from", "sheets=4"], &["--from", "thread= is missing"]),
        (
            &["--leaves", "192", "--from", "thread=flax 25/3,sheets=8,on=2,ends=9"],
            &["--from", "the current plan: 9 at each end"],
        ),
        (&["--leaves", "192", "--from", "thread=flax 25/3,sheets=4,sewn=1"], &["'sewn' is not"]),
    ];
    for (more, parts) in cases {
        folder.run(&[&asked[..], more].concat()).ends(3).complains_of(parts);
    }
    let folder = Folder::with_book();
    let new = ["plan", "--paper", "x", "--caliper", "0.1", "--hardness", "hard"];
    let none = folder.run(&[&new[..], &["--leaves", "96", "--target", "rounded"]].concat());
    none.ends(4).complains_of(&["no thread to choose from"]);
}
