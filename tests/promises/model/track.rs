//! A kept forecast is compared with the sewing, and a hand that changes is noticed.

use crate::support::folder::{Folder, SEWING, trial};
use crate::support::random_books::Random;
use crate::support::simulated::Extent;
use crate::support::simulated_track::{Made, Record, drifting as drifting_in_a_fit, recorded};
use serde_json::Value;
use swellbook::jobs::history::answer::{Drift, ENOUGH_SEWINGS, history};
use swellbook::jobs::track::answer_reliability::TrackVerdict;
use swellbook::model::{Ranges, SewingEffect};
use swellbook::observe::{Observations, Sewn, Weighing, observe_entries};
use swellbook::trade::Ends;
use swellbook::units::Millimetres;

/// The plan of every forecast here.
fn keep(folder: &Folder, more: &[&str]) -> String {
    folder.run(&[&["predict"], &SEWING[..], more].concat()).ends(0).out
}

fn measure(folder: &Folder, trial: &str, state: &str) {
    folder.measure(trial, state, "11.0,11.1,11.05", "8.3,8.35,8.3");
}

fn record(folder: &Folder) -> Value {
    folder.run(&["fit", "--json"]).json()["track_record"].clone()
}

#[test]
fn a_kept_forecast_meets_its_outcome_when_the_book_is_measured() {
    let folder = Folder::with_trial();
    let said = keep(&folder, &["--target", "rounded-backed", "--keep", "T1"]);
    assert!(said.contains("to undo: swellbook strike forecast T1 --reason"), "{said}");
    // Measured in another state, it is still open.
    measure(&folder, "T1", "sewn");
    assert!(record(&folder)["forecasts"][0]["outcome"].is_null());
    measure(&folder, "T1", "knocked");
    let outcome = record(&folder)["forecasts"][0]["outcome"].clone();
    let swell = 100.0 * (11.05 - 8.95 / 3.0 - 16.0 / 3.0) / (24.95 / 3.0);
    let measured = outcome["swell_percent"].as_f64().expect("a number");
    assert!((measured - swell).abs() < 1e-9, "{measured} {swell}");
    assert_eq!((&outcome["source"], &outcome["hit"]), (&"readings".into(), &true.into()));
}

#[test]
fn guards_are_in_the_outcome_as_they_are_in_the_forecast() {
    let folder = Folder::with_trial();
    let trial = ["record", "trial", "G", "--paper", "bond 80", "--thread", "linen 25"];
    let rest = ["--sections", "10", "--sheets", "4", "--guards", "0.4mm"];
    folder.run(&[&trial[..], &rest].concat()).ends(0);
    keep(&folder, &["--keep", "T1"]);
    keep(&folder, &["--guards", "0.45mm", "--keep", "G"]);
    measure(&folder, "G", "knocked");
    let one = record(&folder)["forecasts"][1].clone();
    let measured = one["outcome"]["swell_percent"].as_f64().expect("a number");
    let swell = 100.0 * (33.15 - 24.95) / 24.95;
    assert!((measured - swell).abs() < 1e-9, "{measured}");
    assert_eq!(one["counts"], true);
    // The same sewing without its guards would be another book.
    folder.run(&["correct", "trial", "G", "--guards", "0"]).ends(0);
    let one = record(&folder)["forecasts"][1].clone();
    let without = serde_json::json!([{ "what": "guards", "planned": "0.45", "sewn": "0" }]);
    assert_eq!((&one["sewn_otherwise"], &one["counts"]), (&without, &false.into()));
    // A strip of 0.02 mm round one sheet of each of the 10 sections.
    keep(&folder, &["--guards", "tissue=0.02mm,per-section=1", "--keep", "H"]);
    folder.run(&[&trial[..2], &["H"], &trial[3..], &rest[..4]].concat()).ends(0);
    measure(&folder, "H", "knocked");
    let one = record(&folder)["forecasts"][2].clone();
    let without = serde_json::json!([{ "what": "guards", "planned": "0.4", "sewn": "0" }]);
    assert_eq!((&one["sewn_otherwise"], &one["counts"]), (&without, &false.into()));
}

#[test]
fn a_forecast_made_after_the_readings_is_refused() {
    let folder = Folder::with_trial();
    measure(&folder, "T1", "knocked");
    let before = folder.bytes();
    let run = folder.run(&[&["predict"], &SEWING[..], &["--keep", "T1"]].concat()).ends(3);
    run.complains_of(&[
        "--keep",
        "is already measured knocked down",
        "before the book is measured",
    ]);
    assert_eq!(folder.bytes(), before);
    // A forecast for a state that is not measured yet is accepted.
    keep(&folder, &["--state", "sewn", "--keep", "T1"]);
}

#[test]
fn the_last_forecast_of_a_name_counts_and_each_can_be_struck() {
    let folder = Folder::with_trial();
    keep(&folder, &["--target", "10..20", "--keep", "T1"]);
    let said = keep(&folder, &["--target", "20..30", "--keep", "T1"]);
    assert!(said.contains("strike forecast T1/2"), "{said}");
    measure(&folder, "T1", "knocked");
    let low = |record: &Value| record["forecasts"][0]["target"]["low_percent"].clone();
    assert_eq!((low(&record(&folder)), &record(&folder)["superseded"]), (20.0.into(), &1.into()));
    folder.run(&["strike", "forecast", "T1/2", "--reason", "typed wrongly"]).ends(0);
    assert_eq!((low(&record(&folder)), &record(&folder)["superseded"]), (10.0.into(), &0.into()));
    folder.run(&["strike", "forecast", "T1", "--reason", "as well"]).ends(0);
    assert_eq!(record(&folder)["forecasts"], Value::Array(Vec::new()));
    folder.run(&["strike", "forecast", "T1", "--reason", "again"]).ends(3);
}

#[test]
fn a_forecast_made_too_late_does_not_take_the_place_of_one_made_in_time() {
    let folder = Folder::with_trial();
    folder.run(&["correct", "trial", "T1", "--date", "2026-02-05"]).ends(0);
    measure(&folder, "T1", "sewn");
    let edges = ["--spine", "11.0,11.1", "--fore-edge", "8.3,8.35", "--taken", "2026-02-10"];
    let what = ["record", "readings", "T1", "--state", "knocked"];
    let row = |made: &str| format!("T1,{made},state=knocked,05=20;25=24;50=26;75=28;95=32,,,\n");
    let head = "forecast,made,plan,quantiles,target,chance,outcome\n".to_owned();
    folder.write(
        "forecasts.csv",
        head + &["2026-02-03", "2026-02-01", "2026-02-20"].map(row).concat(),
    );
    let stands = || {
        let (record, shown) =
            (record(&folder), folder.run(&["show", "forecasts", "--json"]).json());
        let shown = shown["forecasts"].as_array().expect("forecasts").clone();
        let shown: Vec<Value> = shown.into_iter().filter(|one| one["replaced"] == false).collect();
        let [shown] = &shown[..] else { panic!("{shown:?}") };
        let one = &record["forecasts"][0];
        assert_eq!((&one["made"], &record["superseded"]), (&shown["made"], &2.into()));
        (shown["made"].clone(), one["outcome"].is_null(), one["made_too_late"].clone())
    };
    assert_eq!(stands(), ("2026-02-20".into(), true, false.into()));
    folder.run(&[&what[..], &edges].concat()).ends(0);
    assert_eq!(stands(), ("2026-02-03".into(), false, false.into()));
    let late = folder.run(&["show", "forecast", "T1"]).ends(0).out.replace("\n    ", " ");
    assert!(late.contains("another forecast of this name and state took its place"), "{late}");
    assert!(late.contains("the forecast was made later and does not count"), "{late}");
}

/// A forecast for the next state of a measured block is another forecast.
#[test]
fn a_forecast_of_another_state_does_not_take_the_place_of_a_measured_one() {
    let folder = Folder::with_trial();
    folder.run(&["correct", "trial", "T1", "--date", "2026-02-05"]).ends(0);
    let edges = ["--spine", "11.0,11.1", "--fore-edge", "8.3,8.35", "--taken", "2026-02-10"];
    folder.run(&[&["record", "readings", "T1", "--state", "sewn"], &edges[..]].concat()).ends(0);
    let row = |made: &str, state: &str| {
        format!("T1,{made},state={state},05=20;25=24;50=26;75=28;95=32,,,\n")
    };
    let head = "forecast,made,plan,quantiles,target,chance,outcome\n".to_owned();
    let rows = row("2026-02-03", "sewn") + &row("2026-02-12", "knocked");
    folder.write("forecasts.csv", head + &rows);
    let record = record(&folder);
    assert_eq!((&record["outcomes_counted"], &record["superseded"]), (&1.into(), &0.into()));
}

#[test]
fn an_outcome_written_by_hand_counts_where_no_readings_do() {
    let folder = Folder::with_trial();
    keep(&folder, &["--target", "20..30", "--keep", "T1"]);
    measure(&folder, "T1", "sewn");
    let kept = folder.read("forecasts.csv");
    folder.write("forecasts.csv", kept.trim_end().to_owned() + "27.5\n");
    let outcome = record(&folder)["forecasts"][0]["outcome"].clone();
    assert_eq!((&outcome["source"], &outcome["swell_percent"]), (&"written".into(), &27.5.into()));
    measure(&folder, "T1", "knocked");
    assert_eq!(record(&folder)["forecasts"][0]["outcome"]["source"], "readings");
}

#[test]
fn a_spreadsheet_may_have_saved_the_forecasts_in_its_own_way() {
    let folder = Folder::with_trial();
    measure(&folder, "T1", "sewn");
    folder.write(
        "forecasts.csv",
        "\u{feff}made;forecast;plan;quantiles;target;chance;outcome\r\n\
         14.02.2026;T1;\"state=knocked; my words\";\"05=20,5;25=24;50=26;75=28;95=32\";\
         rounded 12..22;0,3;25,5\r\n\
         15.02.2026;T2;\"state=sewn\";\"05=20;25=24;50=26;75=28;95=32\"\r\n",
    );
    let forecasts = record(&folder)["forecasts"].clone();
    assert_eq!(
        (&forecasts[0]["made"], &forecasts[0]["chance"]),
        (&"2026-02-14".into(), &0.3.into())
    );
    assert_eq!(forecasts[0]["outcome"]["hit"], false);
    assert!(forecasts[1]["outcome"].is_null());
    // A book that was never sewn, or not measured in its state yet, is not a fault.
    folder.run(&["audit", "--accept", "--strict"]).ends(0);
    let said = keep(&folder, &["--target", "20..30", "--keep", "T3"]);
    assert!(said.contains("kept the forecast"), "{said}");
    let last = folder.read("forecasts.csv");
    let last = last.lines().last().expect("a row");
    assert!(last.starts_with("2026-03-01;T3;\"state=knocked; paper=bond 80,"), "{last}");
    assert!(last.contains(";0,"), "a decimal comma in the file's own style: {last}");
}

#[test]
fn a_wrong_row_is_named_by_row_and_column() {
    let folder = Folder::with_trial();
    folder.write(
        "forecasts.csv",
        "forecast,made,plan,quantiles,target,chance,outcome\n\
         A,2026-02-30,state=knocked,05=1;25=2;50=3;75=4;95=5,,,\n\
         B,2026-02-01,paper=x,05=1;25=2;50=3;75=4;95=5,,,\n\
         C,2026-02-01,state=sewn,05=1;25=2;50=3,10..20,0.5,\n\
         D,2026-02-01,state=sewn,05=1;25=2;50=3;75=4;95=5,10..20,,\n\
         E,2026-02-01,state=sewn,05=1;25=2;50=3;75=4;95=5,,1.5,\n\
         F,2026-02-01,state=sewn,05=1;25=2;50=3;75=4;95=5,,,much\n",
    );
    let before = folder.bytes();
    let run = folder.run(&["fit"]).ends(3);
    run.complains_of(&[
        "forecasts.csv:2, column made",
        "forecasts.csv:3, column plan: 'paper=x' names 0 states",
        "forecasts.csv:4, column quantiles",
        "forecasts.csv:5, column chance: the cell is empty",
        "forecasts.csv:6, column chance: 1.5 is outside 0..1",
        "forecasts.csv:7, column outcome",
    ]);
    let refused = folder.run(&[&["predict"], &SEWING[..], &["--keep", "T9"]].concat());
    assert_eq!((refused.code, folder.bytes()), (3, before));
}

#[test]
fn json_says_what_was_kept_and_stays_one_object() {
    let folder = Folder::with_trial();
    let run =
        folder.run(&[&["predict"], &SEWING[..], &["--json", "--keep", "T1"]].concat()).ends(0);
    assert_eq!(serde_json::from_str::<Value>(&run.out).expect("JSON")["kept"], "T1");
    assert!(run.err.contains("strike forecast T1"), "{}", run.err);
    let json = keep(&folder, &["--json"]);
    assert!(serde_json::from_str::<Value>(&json).expect("JSON")["kept"].is_null());
}

/// Twelve forecasts of one fit say as much as one: they share what the fit does not know. If all of
/// them counted, as if each fit knew the outcomes before it, some of these records would get a
/// wrong verdict.
#[test]
fn forecasts_of_one_fit_count_as_one() {
    let extent = Extent { papers: 2, trials_each: 2 };
    let verdicts = |made| {
        (0..40)
            .map(move |seed| recorded(seed, Record { extent, forecasts: 12, made }).expect("fits"))
    };
    for record in verdicts(Made::AtOnce) {
        assert_eq!((record.outcomes().count(), record.counted().count()), (12, 1));
        assert_eq!(record.verdict, TrackVerdict::TooFew { have: 1, needed: 10 });
    }
    let wrong = |made| verdicts(made).filter(|one| one.verdict != TrackVerdict::AsPromised).count();
    assert!(wrong(Made::AtOnceWithOtherDays) > 0, "nothing is tested");
}

/// An outcome is known when it is measured. A book that took a year overlaps with all that were
/// planned and measured meanwhile.
#[test]
fn a_forecast_counts_if_earlier_outcomes_were_measured_and_its_own_was_not() {
    let folder = Folder::with_trial();
    let mut kept = String::from("forecast,made,plan,quantiles,target,chance,outcome\n");
    // Name, days on which the forecast was made, the book sewn and measured, whether it counts.
    let rows = [
        ("slow", "2025-01-05", "2025-12-20", "2025-12-20", false),
        ("first", "2025-02-01", "2025-02-10", "2025-02-10", true),
        ("second", "2025-03-01", "2025-03-10", "unknown", true),
        ("sewn before", "2025-04-10", "2025-04-01", "2025-04-15", true),
        ("while that was unmeasured", "2025-04-12", "2025-04-20", "2025-04-20", false),
        ("undated", "2025-05-01", "unknown", "2025-05-02", true),
        ("measured before", "2025-06-10", "2025-06-01", "2025-06-05", false),
        ("no day known", "2025-07-01", "unknown", "unknown", false),
        ("after that", "2025-07-02", "2025-07-03", "unknown", true),
        ("measured nobody knows when", "2025-08-02", "2025-08-01", "unknown", false),
        ("said to be measured last year", "2025-09-05", "2025-09-06", "2024-09-06", true),
    ];
    let too_late = ["measured before", "measured nobody knows when"];
    for (name, made, sewn, taken, _) in rows {
        folder.run(&[&trial(name)[..], &["--date", sewn]].concat()).ends(0);
        let edges = ["--spine", "11.0,11.1", "--fore-edge", "8.3,8.35", "--taken", taken];
        let what = ["record", "readings", name, "--state", "knocked"];
        folder.run(&[&what[..], &edges].concat()).ends(0);
        kept += &format!("{name},{made},state=knocked,05=20;25=24;50=26;75=28;95=32,,,\n");
    }
    folder.write("forecasts.csv", kept);
    let found = record(&folder);
    let found: Vec<Value> = found["forecasts"].as_array().expect("forecasts").clone();
    for ((name, .., counts), one) in rows.iter().zip(&found) {
        assert_eq!((&one["forecast"], &one["counts"]), (&(*name).into(), &(*counts).into()));
        assert_eq!(one["made_too_late"], too_late.contains(name), "{name}");
    }
    let fit = folder.run(&["fit"]).ends(0).out.replace('\n', " ");
    let late = too_late.join(", ");
    let says = format!("Not counted because made after the outcome was known: {late}.");
    assert!(fit.contains(&says) && fit.contains("Not counted: 3 outcomes"), "{fit}");
    let shown = folder.run(&["show", "forecast", "measured before"]).ends(0).out;
    let shown = shown.replace("\n    ", " ");
    assert!(shown.contains("the forecast was made later and does not count"), "{shown}");
}

/// If each forecast is made when the outcomes before it are known, all of them count. A record that
/// is as promised then rarely gets another verdict: in at most 5 %, which gives four or more of
/// twenty once in sixty times (R 4: pbinom).
#[test]
fn forecasts_made_one_by_one_all_count() {
    let what = Record {
        extent: Extent { papers: 1, trials_each: 2 },
        forecasts: 10,
        made: Made::OneByOne,
    };
    let records: Vec<_> = (0..20).filter_map(|seed| recorded(70 + seed, what)).collect();
    assert!(records.len() >= 19 && records.iter().all(|one| one.counted().count() == 10));
    let wrong = records.iter().filter(|one| one.verdict != TrackVerdict::AsPromised).count();
    assert!(wrong <= 3, "{wrong} of {} as promised are called otherwise", records.len());
}

/// Through readings and fits, as docs/coverage.md counts it in a thousand histories.
#[test]
fn a_hand_that_changes_is_seen_through_a_fit() {
    const HANDS: u64 = 120;
    let step = Some((10, 2.0));
    let called = |step| {
        let told = (0..HANDS).map(|seed| drifting_in_a_fit(seed, 25, step).expect("a fit"));
        told.filter(Option::is_some).count()
    };
    let (found, steady) = (called(step), called(None));
    assert!(
        found >= 78 && steady <= 12,
        "{found} of {HANDS} found, {steady} of {HANDS} steady called drifting"
    );
}

/// Observations with nothing but dated trials, a day apart.
fn dated(count: usize) -> Observations {
    let resolution = Millimetres::new(0.01).expect("a length");
    let none = observe_entries(&Default::default(), resolution, Weighing::Equal);
    let mut all = none.expect("nothing to observe");
    let first: jiff::civil::Date = "2026-01-01".parse().expect("a day");
    all.trials = (0..count)
        .map(|index| Sewn {
            on: 1,
            ends: Ends::default(),
            name: format!("T{index}").parse().expect("a name"),
            date: first.checked_add(jiff::Span::new().days(index as i64)).ok(),
            paper: 0,
            thread: 0,
            hand: 0,
            sections: 10.0,
            sheets: 4.0,
            build_up_mm: 5.0,
            leaves_mm: 8.0,
            boned: false,
            guards_mm: 0.0,
        })
        .collect();
    all
}

/// Effects of a hand as a fit shows them: less their mean and in units of their own scatter. A fit
/// takes both from the very sewings that it judges.
fn sewings(random: &mut Random, count: usize, step: Option<(usize, f64)>) -> Vec<SewingEffect> {
    let shift = |index: usize| step.map_or(0.0, |(from, by)| if index < from { 0.0 } else { by });
    let raw: Vec<f64> = (0..count).map(|index| random.normal() + shift(index)).collect();
    let mean = raw.iter().sum::<f64>() / count as f64;
    let squares = raw.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
    let sd = (squares / (count - 1) as f64).sqrt();
    let effect = |(trial, value): (usize, f64)| {
        let mean = 0.06 * value;
        let effect =
            Ranges { mean, sd: 0.0, q05: mean, q25: mean, q50: mean, q75: mean, q95: mean };
        SewingEffect { trial, effect, standardised: value / sd }
    };
    raw.into_iter().map(|value| value - mean).enumerate().map(effect).collect()
}

/// The share of a thousand histories that drift, and the share of those that name a day within
/// three sewings of the step.
fn drifting(count: usize, step: Option<(usize, f64)>) -> (f64, f64) {
    let (all, random) = (dated(count), &mut Random::new(77));
    let day = |index: usize| all.trials[index].date.expect("a date");
    let (mut found, mut near) = (0.0, 0.0);
    for _ in 0..1000 {
        let history = history(&all, &sewings(random, count, step));
        if let Drift::Drifting { since, change, .. } = history.drift {
            found += 1.0;
            if let Some((from, by)) = step {
                near += f64::from(u8::from((since - day(from)).get_days().abs() <= 3));
                assert!(change * by > 0.0, "a change the other way: {change}");
            }
        }
    }
    (found / 1000.0, if found > 0.0 { near / found } else { 0.0 })
}

#[test]
fn a_steady_hand_is_rarely_called_drifting() {
    for count in [12, 20, 40, 100] {
        let (share, _) = drifting(count, None);
        assert!(share < 0.06, "{count}: {share}");
    }
}

#[test]
fn a_step_of_two_spreads_is_found_and_dated() {
    for (count, from, least) in [(18, 10, 0.8), (30, 15, 0.9), (60, 30, 0.95)] {
        let (share, near) = drifting(count, Some((from, 2.0)));
        assert!(share > least, "{count}: {share}");
        assert!(near > 0.6, "{count}: {near} named within three sewings");
    }
}

#[test]
fn few_or_undated_sewings_say_nothing_of_a_drift() {
    let mut all = dated(ENOUGH_SEWINGS);
    all.trials[3].date = None;
    let history = history(&all, &sewings(&mut Random::new(5), ENOUGH_SEWINGS, None));
    let few = Drift::TooFew { have: ENOUGH_SEWINGS - 1, needed: ENOUGH_SEWINGS };
    assert_eq!((history.drift, history.undated), (few, 1));
    assert!(history.points.iter().all(|point| point.average.is_none()));
}

/// A forecast, then a sewing of its name with other figures than it planned.
#[test]
fn a_book_sewn_otherwise_than_planned_is_listed_but_does_not_count() {
    let folder = Folder::with_trial();
    folder.run(&["record", "thread", "silk", "--laid", "0.3mm"]).ends(0);
    keep(&folder, &["--target", "20..40", "--keep", "L7"]);
    keep(&folder, &["--target", "20..40", "--keep", "T1"]);
    let sewn =
        ["record", "trial", "L7", "--kind", "book", "--paper", "bond 80", "--thread", "silk"];
    let twos = ["--sections", "8", "--sheets", "4", "--on", "2", "--ends", "0"];
    folder.run(&[&sewn[..], &twos].concat()).ends(0);
    measure(&folder, "L7", "knocked");
    let found = record(&folder);
    let one = |name: &str| {
        let all = found["forecasts"].as_array().expect("a list");
        all.iter().find(|one| one["forecast"] == name).expect("a forecast").clone()
    };
    let wanted = serde_json::json!([
        { "what": "thread", "planned": "linen 25", "sewn": "silk" },
        { "what": "sections", "planned": "10", "sewn": "8" },
        { "what": "on", "planned": "1", "sewn": "2" },
    ]);
    let unlike = one("L7");
    assert_eq!((&unlike["sewn_otherwise"], &unlike["counts"]), (&wanted, &false.into()));
    assert_eq!(one("T1")["sewn_otherwise"], serde_json::json!([]));
    assert_eq!((&found["outcomes"], &found["outcomes_counted"]), (&1.into(), &0.into()));
    let otherwise = "silk instead of linen 25, 8 sections instead of 10, two-on instead \
                     of all along";
    let fit = folder.run(&["fit"]).ends(0).out.replace('\n', " ");
    let says = format!("Not counted because sewn otherwise than planned: L7 ({otherwise}).");
    assert!(fit.contains(&says), "{fit}");
    assert!(!fit.contains("within its 90 % range"), "{fit}");
    let shown = folder.run(&["show", "forecast", "L7"]).ends(0).out.replace("\n    ", " ");
    assert!(shown.contains(&format!("sewn otherwise and does not count: {otherwise}")), "{shown}");
    folder.run(&["report", "--out", "book.html"]).ends(0);
    assert!(folder.read("book.html").contains(", sewn otherwise<"));
}

/// By hand: the first 3 and the last 5 of 10 sections, and one pair, take 9 threads.
#[test]
fn a_book_is_sewn_as_planned_if_both_its_ends_are() {
    let folder = Folder::with_trial();
    let sewn = |name: &str, ends: &str| {
        keep(&folder, &["--on", "2", "--ends", "3+5", "--keep", name]);
        let args = [&trial(name)[..], &["--on", "2", "--ends", ends]].concat();
        let said = folder.run(&args).ends(0);
        measure(&folder, name, "knocked");
        said
    };
    let said = sewn("U1", "3+5").out;
    assert!(said.contains("two-on, the first 3 and the last 5 all along"), "{said}");
    sewn("U2", "3");
    sewn("U3", "4+2");
    assert!(folder.read("trials.csv").contains(",10,4,2,3+5,no,"));
    let found = record(&folder);
    let one = |name: &str| {
        let mut all = found["forecasts"].as_array().expect("a list").iter();
        all.find(|one| one["forecast"] == name).expect("a forecast").clone()
    };
    let as_planned = one("U1");
    assert_eq!(as_planned["sewn_otherwise"], serde_json::json!([]));
    assert_eq!(as_planned["counts"], true);
    let wanted = serde_json::json!([{ "what": "ends", "planned": "3+5", "sewn": "3" }]);
    assert_eq!(one("U2")["sewn_otherwise"], wanted);
    let fit = folder.run(&["fit"]).ends(0).out.replace('\n', " ");
    let wanted = "U2 (3 sections all along at each end instead of 3+5); U3 (4+2 sections all along \
                  at the ends instead of 3+5)";
    assert!(fit.contains(wanted), "{fit}");
    let rows = folder.run(&["export", "--observations", "--format", "json"]).json();
    let row = rows.as_array().expect("rows").iter().find(|row| row["trial"] == "U1");
    let row = row.expect("U1");
    assert_eq!([&row["ends"], &row["first_ends"], &row["last_ends"]], [5, 3, 5]);
    let number = |key: &str| row[key].as_f64().expect("a number");
    assert!((number("build_up_mm") - 9.0 * number("laid_mm")).abs() < 1e-12, "{row}");
    let shown = folder.run(&["show", "trial", "U1", "--json"]).json()["trials"][0].clone();
    assert_eq!([&shown["ends"], &shown["first_ends"], &shown["last_ends"]], [5, 3, 5]);
}

/// The hand is in the plan only if it was named.
#[test]
fn a_book_sewn_by_another_hand_than_predicted_does_not_count() {
    let folder = Folder::with_trial();
    for (name, hand) in [("A", "Ann"), ("B", "Bob")] {
        folder.run(&[&trial(name)[..], &["--hand", hand]].concat()).ends(0);
    }
    for (name, planned, sewn) in [
        ("U1", &["--hand", "Ann"][..], &["--hand", "Bob"][..]),
        ("U2", &["--hand", "Ann"], &[]),
        ("U3", &[], &["--hand", "Bob"]),
        ("U4", &["--hand", ""], &["--hand", "Bob"]),
    ] {
        keep(&folder, &[planned, &["--keep", name]].concat());
        folder.run(&[&trial(name)[..], sewn].concat()).ends(0);
        measure(&folder, name, "knocked");
    }
    let found = record(&folder);
    let another = serde_json::json!([{ "what": "hand", "planned": "Ann", "sewn": "Bob" }]);
    assert_eq!(found["forecasts"][0]["sewn_otherwise"], another);
    for at in [1, 2] {
        assert_eq!(found["forecasts"][at]["sewn_otherwise"], serde_json::json!([]));
    }
    let fit = folder.run(&["fit"]).ends(0).out.replace('\n', " ");
    assert!(fit.contains("U1 (sewn by Bob instead of Ann)"), "{fit}");
    let owner = "U4 (sewn by Bob instead of the hand of the trials without a name)";
    assert!(fit.contains(owner), "{fit}");
    // A choice of `plan` names the hand, too.
    let choice = ["plan", "--paper", "bond 80", "--leaves", "80", "--target", "10..50"];
    folder.run(&[&choice[..], &["--hand", "Bob", "--keep", "P"]].concat()).ends(0);
    assert!(folder.read("forecasts.csv").contains("state=knocked; hand=Bob; paper="));
    // The kept plan opens with its hand again.
    let is_of_new_hand = |name: &str| {
        let again = folder.run(&["predict", "--plan", name]).ends(0);
        again.err.contains("predicted for a hand new to the book")
    };
    assert!(!is_of_new_hand("U1") && is_of_new_hand("U3"));
}

#[test]
fn a_renamed_paper_does_not_make_another_sewing_of_a_book() {
    let folder = Folder::with_trial();
    keep(&folder, &["--keep", "T1"]);
    let renamed =
        ["correct", "paper", "bond 80", "--name", "bond 80 g", "--reason", "its full name"];
    folder.run(&renamed).ends(0);
    measure(&folder, "T1", "knocked");
    let one = record(&folder)["forecasts"][0].clone();
    assert_eq!((&one["sewn_otherwise"], &one["counts"]), (&serde_json::json!([]), &true.into()));
}

/// Sixty sewings, Ann and Bob in turn. From the 31st on, 0.06 of the thread more shows with Ann and
/// 0.06 less with Bob, so that all sewings together look steady. 0.06 of ten threads of 0.5 mm is
/// 0.3 mm of swell.
fn two_hands_that_drift_apart() -> Folder {
    let folder = Folder::new();
    folder.run(&["init", "."]).ends(0);
    let mut sheet =
        "trial,date,hand,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,\
                     place,spine_mm,fore_edge_mm\n"
            .to_owned();
    let first: jiff::civil::Date = "2025-11-01".parse().expect("a day");
    for index in 0..60_i32 {
        let day = first.checked_add(jiff::Span::new().days(i64::from(index))).expect("a day");
        let (hand, way) = if index % 2 == 0 { ("Ann", 0.3) } else { ("Bob", -0.3) };
        let shift = if index < 30 { 0.0 } else { way };
        let chance = 0.03 * f64::from((index * 37) % 11 - 5);
        for place in 1..=2 {
            let spine = 8.3 + 3.0 + shift + chance + 0.01 * f64::from(place);
            sheet += &format!(
                "S{index:02},{day},{hand},bond,hard,0.1,lin,0.5,10,4,sewn,{place},{spine:.2},8.30\n"
            );
        }
    }
    folder.write("sheet.csv", sheet);
    folder.run(&["import", "sheet.csv"]).ends(0);
    folder
}

#[test]
fn every_answer_judges_each_hand_by_its_own_sewings() {
    let folder = two_hands_that_drift_apart();
    let out = folder.run(&["fit", "--json"]).ends(0).out;
    let json: Value = serde_json::from_str(&out).expect("JSON");
    let hand = |index: usize| json["hands"][index].clone();
    for (index, name, sign) in [(0, "Ann", 1.0), (1, "Bob", -1.0)] {
        let found = hand(index);
        assert_eq!((&found["hand"], &found["verdict"]), (&name.into(), &"drifting".into()));
        assert_eq!(found["sewings"], 30);
        let change = found["since"]["change"].as_f64().expect("a change");
        assert!((0.02..0.08).contains(&(sign * change)), "{name}: {change}");
    }
    assert_eq!(json["history"]["verdict"], "steady");
    folder.run(&["report", "--out", "book.html"]).ends(0);
    let chart = folder.run(&["chart", "history", "--out", "history.svg"]).ends(0).err;
    let fit = folder.run(&["fit"]).ends(0).out;
    for text in [fit, folder.read("book.html"), chart] {
        let text = text.replace('\n', " ");
        for hand in ["Ann: drifting over 30 sewings", "Bob: drifting over 30 sewings"] {
            assert!(text.contains(hand), "{hand}: {text}");
        }
        assert!(!text.contains("no drift"), "{text}");
    }
}
