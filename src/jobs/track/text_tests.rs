//! Tests of the text of the track record and of the history, with every figure set by hand.

use super::answer::{Followed, OutcomeSource, TrackOutcome, TrackRecord};
use super::answer_reliability::{ENOUGH_OUTCOMES, ReliabilityBin, TrackVerdict};
use super::text::track_text;
use crate::jobs::history::answer::{Drift, ENOUGH_SEWINGS, History, HistoryPoint, MovingAverage};
use crate::jobs::history::text::history_text;
use crate::jobs::keep::text::kept_line;
use crate::model::{ExactShare, Ranges};
use crate::terminal::json::document;
use crate::trade::{Aim, KeptForecast, SwellQuantiles};

pub(crate) fn nothing_kept() -> TrackRecord {
    TrackRecord {
        forecasts: Vec::new(),
        superseded: 0,
        reliability: Vec::new(),
        within_50: None,
        within_90: None,
        verdict: TrackVerdict::TooFew { have: 0, needed: ENOUGH_OUTCOMES },
    }
}

pub(crate) fn too_few() -> History {
    let drift = Drift::TooFew { have: 0, needed: ENOUGH_SEWINGS };
    History { points: Vec::new(), undated: 0, centre: None, scatter: None, drift }
}

fn kept() -> KeptForecast {
    KeptForecast {
        name: "ledger 7".parse().unwrap(),
        made: "2026-03-01".parse().unwrap(),
        plan: "state=knocked; paper=Alder bond".parse().unwrap(),
        swell: SwellQuantiles::new([26.58, 29.1, 31.0, 32.8, 35.3]).unwrap(),
        aim: Some(Aim::new("rounded-backed 25..35".parse().unwrap(), 0.684).unwrap()),
        outcome_percent: None,
    }
}

fn track() -> TrackRecord {
    let kept = kept();
    let share = |count, of| ExactShare {
        count,
        of,
        share: count as f64 / of as f64,
        low: 0.606,
        high: 0.982,
    };
    let outcome = TrackOutcome {
        percent: 33.1,
        source: OutcomeSource::Readings,
        hit: Some(true),
        expected: Some(0.66),
        share_below: 0.8,
        within_50: false,
        within_90: true,
    };
    TrackRecord {
        forecasts: vec![Followed {
            name: kept.name,
            made: kept.made,
            state: kept.plan.state(),
            swell: kept.swell,
            target: kept.aim.as_ref().map(|aim| aim.wanted.clone()),
            promised: kept.aim.as_ref().map(Aim::chance),
            outcome: Some(outcome),
            sewn_otherwise: Vec::new(),
            made_too_late: false,
            known: Some("2026-03-12".parse().unwrap()),
            counts: true,
        }],
        superseded: 1,
        reliability: vec![ReliabilityBin {
            from: 0.5,
            to: 0.75,
            mean_promised: 0.66,
            met: share(5, 8),
        }],
        within_50: Some(share(6, 10)),
        within_90: Some(share(9, 10)),
        verdict: TrackVerdict::AsPromised,
    }
}

fn history(drift: Drift) -> History {
    let effect =
        Ranges { mean: 0.31, sd: 0.02, q05: 0.28, q25: 0.3, q50: 0.31, q75: 0.32, q95: 0.34 };
    let point = HistoryPoint {
        trial: "B14".parse().unwrap(),
        date: "2026-02-17".parse().unwrap(),
        effect,
        standardised: 3.2,
        out_of_limits: true,
        average: Some(MovingAverage { value: 1.2, low: -1.1, high: 1.1 }),
    };
    let (centre, scatter) = (Some(0.0), Some(0.9));
    History { points: vec![point; 14], undated: 1, centre, scatter, drift }
}

#[test]
fn a_kept_forecast_is_said_in_a_line() {
    let wanted = "kept the forecast for ledger 7, knocked down: 27 to 35 %, 68 % chance \
                  of meeting rounded-backed 25..35";
    assert_eq!(kept_line(&kept()), wanted);
}

#[test]
fn outcomes_that_do_not_count_are_said_to_be_left_out() {
    let mut record = track();
    let kept = record.forecasts[0].clone();
    record.forecasts.push(Followed { counts: false, ..kept });
    let text = track_text(&record, 10_000).unwrap();
    assert!(text.contains("Not counted: 1 outcome of forecasts made before"), "{text}");
    let json: serde_json::Value = serde_json::from_str(&document(&record)).unwrap();
    assert_eq!((&json["outcomes"], &json["outcomes_counted"]), (&2.into(), &1.into()));
    assert_eq!(json["forecasts"][1]["counts"], false);
}

#[test]
fn a_track_record_is_said_verdict_first() {
    let wanted = "\
Kept forecasts: as promised; nothing suggests that the odds are wrong. Of 10
forecasts with an outcome, 9 lay within their 90 % range (90 %; in the long run
61 to 98 %), and 6 within their 50 % range (60 %; in the long run 61 to 98 %).
Targets by the chance promised; the range shows where the true chance may be:
promised    forecasts  mean  met  share       range
50 to 75 %          8  66 %    5   62 %  61 to 98 %
";
    assert_eq!(track_text(&track(), 80).unwrap(), wanted);
    let narrow = track_text(&track(), 60).unwrap();
    assert!(narrow.lines().all(|line| line.chars().count() <= 60), "{narrow}");
    assert_eq!(track_text(&nothing_kept(), 80), None);
    let json: serde_json::Value = serde_json::from_str(&document(&track())).unwrap();
    assert_eq!(json["verdict"], "as_promised");
    assert_eq!(json["reliability"][0]["count"], 5);
    assert_eq!(json["forecasts"][0]["outcome"]["source"], "readings");
}

#[test]
fn a_drift_is_said_with_its_date() {
    let drift = Drift::Drifting {
        trial: "B11".parse().unwrap(),
        since: "2026-02-03".parse().unwrap(),
        change: -0.062,
    };
    let text = history_text(&history(drift.clone()), &[], 80).unwrap().replace('\n', " ");
    assert!(text.contains("drifting: since 2026-02-03 (trial B11)"), "{text}");
    assert!(text.contains("about 0.06 of the thread less than"), "{text}");
    assert!(text.contains("1 sewing without a date"), "{text}");
    let out = "14 of 14 sewings lie outside the limits of a single sewing: B14 of 2026-02-17 (about \
               0.31 of the thread more), ";
    assert!(text.contains(out) && text.contains("; by chance about one in 370 does."), "{text}");
    let json: serde_json::Value = serde_json::from_str(&document(&history(drift))).unwrap();
    assert_eq!(json["since"]["date"], "2026-02-03");
    assert_eq!(json["points"][0]["average"]["out_of_limits"], true);
}

#[test]
fn a_steady_hand_is_said_to_be_steady() {
    let text = history_text(&history(Drift::Steady), &[], 60).unwrap();
    assert!(text.starts_with("Over 14 sewings in order of date your hand is steady"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
    assert_eq!(history_text(&too_few(), &[], 80), None);
}
