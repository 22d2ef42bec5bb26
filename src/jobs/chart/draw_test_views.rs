//! Hand-made views of any size, with the longest possible names.

use super::answer_factors::{FactorRow, FactorsView};
use super::answer_history::{HandHistory, HistoryView, StruckPoint};
use super::answer_knockdown::{
    BlockSet, KnockdownView, Measure, PaperSteps, StepPoint, TakenOut, TrialSteps,
};
use super::answer_residuals::{Residual, ResidualsView};
use super::answer_swell::{CurvePoint, SwellPoint, SwellView, ThreadCurve};
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::compare::answer::{Compared, ComparedWay, WayScore};
use crate::jobs::compare::answer_doubtful::{Doubtful, FaultyReading, What};
use crate::jobs::compare::answer_refit::{Agreement, Leaving};
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::history::answer::{BASELINE, Drift, History, HistoryPoint, MovingAverage};
use crate::jobs::history::answer_control::LIMIT;
use crate::jobs::plan::answer_test_choices::{choice, mm, view};
use crate::jobs::plan::answer_view::ChoicesView;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::Sewer;
use crate::model::compare::{Difference, Judged, Way, score};
use crate::model::mixed::{Ranges, Summary};
use crate::trade::{Caution, Edge, Hardness, Name, Sewing, State};
use jiff::ToSpan;
use jiff::civil::{Date, date};

/// Eighty characters with and without spaces.
const LONG: [&str; 2] = [
    "A hand-made paper of linen and hemp with a very long name, lot 17 of the old mill",
    "Unbreakable-name-of-a-paper-that-somebody-has-written-in-one-word-of-80-letters-",
];

pub(crate) fn name(index: usize) -> String {
    match index % 4 {
        1 => LONG[0].to_owned(),
        2 => LONG[1].to_owned(),
        _ => format!("paper {index}"),
    }
}

pub(crate) fn ranges(middle: f64, width: f64) -> Ranges {
    Ranges {
        mean: middle,
        sd: 0.6 * width,
        q05: middle - width,
        q25: middle - 0.4 * width,
        q50: middle,
        q75: middle + 0.4 * width,
        q95: middle + width,
    }
}

fn summary(middle: f64, width: f64) -> Summary {
    let Ranges { mean, sd, q05, q50, q95, .. } = ranges(middle, width);
    Summary { mean, sd, q05, q50, q95 }
}

const KINDS: [Hardness; 3] = [Hardness::Soft, Hardness::Medium, Hardness::Hard];

/// The hardness of a paper among `papers`: the first third is soft.
fn hardness(index: usize, papers: usize) -> Hardness {
    KINDS[3 * index / papers]
}

/// A view of `papers` papers; every fifth was never tried.
pub(crate) fn factors_of(papers: usize) -> FactorsView {
    let row = |index: usize| FactorRow {
        paper: name(index),
        hardness: hardness(index, papers),
        trials: if index % 5 == 4 { 0 } else { 2 },
        factors: [
            ranges(0.5 + 0.004 * index as f64, 0.06),
            ranges(0.4 + 0.004 * index as f64, 0.05),
        ],
    };
    let rows: Vec<FactorRow> = (0..papers).map(row).collect();
    let used = KINDS.into_iter().filter(|kind| rows.iter().any(|row| row.hardness == *kind));
    let nominal = used.map(|hardness| (hardness, [ranges(0.55, 0.3); 2])).collect();
    FactorsView { rows, nominal, trials: 2 * papers, grounds: Grounds::default() }
}

/// A view of `papers` papers with `trials` blocks each; every third block is boned and pressed.
pub(crate) fn knockdown_of(measure: Measure, papers: usize, trials: usize) -> KnockdownView {
    let point = |state, value| StepPoint { state, value };
    let steps = |index: usize| {
        let mut points = vec![
            point(State::Sewn, 0.62 - 0.01 * (index % 9) as f64),
            point(State::Knocked, 0.5 - 0.01 * (index % 7) as f64),
        ];
        if index % 3 == 1 {
            points.push(point(State::KnockedPressed, 0.45));
        }
        TrialSteps { trial: format!("T{index}"), points }
    };
    let set = |boned: bool| BlockSet {
        boned,
        fitted: (measure == Measure::Factor).then(|| [0.6, 0.5].map(|it| ranges(it, 0.08))),
        trials: (0..trials).filter(|index| (index % 3 == 1) == boned).map(steps).collect(),
    };
    let paper = |index: usize| PaperSteps {
        paper: name(index),
        hardness: hardness(index, papers),
        taken_out: Some(TakenOut {
            middle: 0.1 + 0.001 * index as f64,
            range: (measure == Measure::Factor).then_some((0.08, 0.14)),
        }),
        sets: [false, true].map(set).into_iter().filter(|set| !set.trials.is_empty()).collect(),
    };
    let boned = (measure == Measure::Factor && trials > 1).then(|| summary(-0.05, 0.03));
    KnockdownView { measure, papers: (0..papers).map(paper).collect(), boned }
}

pub(crate) fn compared_of(rows: usize) -> Compared {
    let agreement = |index: usize| Agreement {
        trial: name(index),
        state: State::Sewn,
        measured_mm: 2.0 + 0.05 * (index % 60) as f64,
        own: ranges(2.1 + 0.049 * (index % 60) as f64, 0.3),
        nominal_mm: 2.5 + 0.03 * (index % 60) as f64,
    };
    let judged = |index: usize| Judged {
        miss_mm: 0.01 * index as f64,
        miss_percent: 0.1,
        held: !index.is_multiple_of(10),
        log_density: 0.5,
    };
    let judged: Vec<(usize, Judged)> = (0..rows).map(|index| (index, judged(index))).collect();
    let way = |way| ComparedWay {
        way,
        score: score(&judged).map(|score| WayScore {
            way,
            score,
            against_own: Difference { mean: 0.0, standard_error: None, range: None },
            miss_against_own: Difference { mean: 0.0, standard_error: None, range: None },
        }),
        unavailable: 0,
    };
    Compared {
        leaving: Leaving::Trial,
        trials: rows,
        papers: 1,
        observations: rows,
        refits: rows,
        exact_refits: 0,
        ways: Way::ALL.into_iter().map(way).collect(),
        common: Vec::new(),
        agreement: (0..rows).map(agreement).collect(),
        doubtful: Vec::new(),
    }
}

/// A name of a trial or a thread, cut to the 80 letters allowed.
fn short(index: usize) -> Name {
    let text: String = name(index).chars().take(80).collect();
    text.parse().unwrap()
}

/// A view of `sewings` sewings, three on each sewing day from the first day of 2025 on, and of
/// `struck` struck ones.
pub(crate) fn history_of(sewings: usize, struck: usize) -> HistoryView {
    let day = |index: usize| -> Date {
        date(2025, 1, 1).checked_add(((index / 3) as i64 * 5).days()).unwrap()
    };
    let value = |index: usize| [0.3, -1.2, 0.8, 2.4, -0.4, 3.6, -2.0][index % 7];
    let point = |index: usize| HistoryPoint {
        trial: short(index),
        date: day(index),
        effect: ranges(0.02 * value(index), 0.03),
        standardised: value(index),
        out_of_limits: value(index) > LIMIT,
        average: (index >= BASELINE && sewings > BASELINE + 1).then_some(MovingAverage {
            value: 0.1,
            low: -1.0,
            high: 1.0,
        }),
    };
    let gone = |index: usize| StruckPoint {
        trial: short(index),
        date: day(2 * index),
        standardised: -7.0 + 40.0 * (index % 2) as f64,
    };
    let drift = if sewings > 50 {
        Drift::Drifting { trial: short(2), since: day(20), change: -0.041 }
    } else {
        Drift::TooFew { have: sewings, needed: BASELINE + 2 }
    };
    let undated = sewings / 5;
    let points = (0..sewings).map(point).collect();
    let history = History { points, undated, centre: None, scatter: None, drift };
    let struck = (0..struck).map(gone).collect();
    let hand = HandHistory { hand: String::new(), history, struck };
    let mut hands = vec![hand];
    hands.retain(|hand| hand.dates().next().is_some());
    HistoryView { hands, undated }
}

/// Like [`history_of`], for each of `hands` hands.
pub(crate) fn hands_of(hands: usize, sewings: usize) -> HistoryView {
    let of = |index: usize| {
        let own = history_of(sewings, index % 2).hands;
        own.into_iter().map(move |hand| HandHistory { hand: name(index), ..hand })
    };
    HistoryView { hands: (0..hands).flat_map(of).collect(), undated: 0 }
}

pub(crate) fn plan_of(rows: usize) -> ChoicesView {
    let row = |index: usize| {
        let sewing = Sewing::new(24, 4, 1 + (index % 3) as u8, 3).unwrap();
        let chance = 1.0 / (1.0 + index as f64);
        let mut row = choice(short(index).as_str(), sewing, index % 2 == 1, chance);
        row.way.blank_leaves = (index % 3) as u32;
        let q50 = 28.0 + index as f64;
        row.percent = PercentRange { q05: 22.0, q50, q95: q50 + 6.0, ..row.percent };
        row.thread = mm(9_600.0 + 100.0 * index as f64);
        if index % 4 == 1 {
            row.cautions = vec![Caution::ThinThread, Caution::SkippedKettles];
        }
        row.group = if index < 2 { 1 } else { 2 };
        row
    };
    ChoicesView {
        sewer: (rows == 1).then_some(Sewer::New),
        is_met: rows != 1,
        ..view(LONG[1], (0..rows).map(row).collect())
    }
}

/// A paper with `threads` threads and `trials` trials with each; no target if there is only one
/// thread.
pub(crate) fn swell_of(threads: usize, trials: usize) -> SwellView {
    let point = |sections: u16, thread: usize| {
        let middle = 14.0 + 8.0 * thread as f64 + 0.05 * f64::from(sections);
        let length = f64::from(sections) * 0.01 * middle;
        CurvePoint {
            sections,
            percent: PercentRange {
                q05: middle - 4.0,
                q25: middle - 1.6,
                q50: middle,
                q75: middle + 2.0,
                q95: middle + 5.0,
            },
            swell_mm: summary(length, 0.2 * length),
            chance: (threads > 1).then_some(1.0 / (1.0 + thread as f64)),
            is_beyond: sections > 24,
        }
    };
    let trial = |index: usize, thread: usize| SwellPoint {
        trial: name(index),
        sections: 6 + (index % 20) as u16,
        percent: if index == 7 { 900.0 } else { 16.0 + 8.0 * thread as f64 + (index % 5) as f64 },
        is_alike: index % 3 != 1,
    };
    let curve = |index: usize| ThreadCurve {
        thread: name(index),
        diameter_mm: 0.3 + 0.05 * index as f64,
        points: (4..=40).map(|sections| point(sections, index)).collect(),
        trials: (0..trials).map(|trial_at| trial(trial_at, index)).collect(),
    };
    SwellView {
        paper: LONG[1].to_owned(),
        state: State::Knocked,
        sheets: 4,
        boned: false,
        sewer: (threads > 1).then(|| Sewer::Known(LONG[0].to_owned())),
        target: (threads > 1).then(|| Band::new(25.0, 35.5).unwrap()),
        threads: (0..threads).map(curve).collect(),
        unmeasured: trials / 2,
        trials_used: threads * trials,
        grounds: Grounds::default(),
    }
}

/// A view of `residuals` residuals over `papers` papers; with more than 40, one trial is doubtful.
pub(crate) fn residuals_of(papers: usize, residuals: usize) -> ResidualsView {
    let residual = |index: usize| {
        let off = if index == 40 { -11.5 } else { [0.3, -1.2, 0.8, 2.4, -0.4, 0.1][index % 6] };
        Residual {
            trial: name(index / 2),
            state: State::ALL[1 + index % 4],
            off_mm: 0.1 * off,
            off,
            paper: name(index % papers.max(1)),
            thread: name(index % 3),
            date: (index % 7 != 3)
                .then(|| date(2024, 1, 1).checked_add((index as i64 * 3).days()).unwrap()),
            sections: 4 + (index % 40) as u32,
            hand: if index.is_multiple_of(4) { String::new() } else { name(index % 2) },
        }
    };
    let reading = FaultyReading {
        id: "T20/sewn/2".to_owned(),
        state: State::Sewn,
        place: "2".to_owned(),
        edge: Edge::Spine,
        value_mm: 12.34,
        fits_mm: 13.43,
    };
    let doubtful = Doubtful {
        trial: name(20),
        what: What::Swell(State::Sewn),
        observed_mm: 2.0,
        expected_mm: 3.15,
        sd_mm: 0.1,
        tail: 1e-12,
        chance: 1e-10,
        reading: Some(reading),
    };
    ResidualsView {
        residuals: (0..residuals).map(residual).collect(),
        doubtful: if residuals > 40 { vec![doubtful] } else { Vec::new() },
    }
}
