//! The swell of one paper with each thread, by the number of sections.

use super::answer_knockdown::trials_of;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer_beyond::Gap;
use crate::jobs::forecast::answer_percent::{PercentRange, chance};
use crate::jobs::forecast::answer_tried::Tried;
use crate::jobs::plan::answer::SearchError;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::Sewer;
use crate::model::mixed::Summary;
use crate::model::{Plan, PlannedPaper, PlannedThread, Prediction, Run};
use crate::observe::{Observation, Observations, Sewn};
use crate::trade::{Sewing, State};
use crate::units::in_ranges;
use std::collections::BTreeMap;

/// Sections of the book whose odds are quoted, and sheets per section if no trial says otherwise
/// (common practice, no source).
const TYPICAL_SECTIONS: u16 = 24;
const TYPICAL_SHEETS: u16 = 4;
/// Books of up to this many sections are always drawn, whatever was tried.
const USUAL_SECTIONS: u32 = 40;
/// A line needs at most this many points.
const MOST_POINTS: u32 = 60;
/// Odds from here on count as better than even.
const EVEN: f64 = 0.5;

#[derive(Clone, Debug)]
pub struct SwellQuestion {
    pub paper: PlannedPaper,
    pub threads: Vec<PlannedThread>,
    pub state: State,
    /// Sheets in a section; `None` for the number in most of the paper's trials.
    pub sheets: Option<u16>,
    pub boned: bool,
    /// The hand that will sew, as an index into the hands of the fit.
    pub hand: Option<usize>,
    pub target: Option<Band>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    pub sections: u16,
    pub percent: PercentRange,
    pub swell_mm: Summary,
    pub chance: Option<f64>,
    /// Whether its number of sections is far beyond those of the trials.
    pub is_beyond: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub struct SwellPoint {
    pub trial: String,
    pub sections: u16,
    /// Measured swell in per cent of the fore-edge.
    pub percent: f64,
    /// Whether it was folded and sewn like the line: as many sheets, sewn all along, boned or not,
    /// without repairs.
    pub is_alike: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub struct ThreadCurve {
    pub thread: String,
    pub diameter_mm: f64,
    /// Fewest sections first; never empty.
    pub points: Vec<CurvePoint>,
    /// The paper's trials with this thread, in the order of the book.
    pub trials: Vec<SwellPoint>,
}

/// The swell of a paper with each thread, the finest first.
#[derive(Clone, Debug, PartialEq)]
pub struct SwellView {
    pub paper: String,
    pub state: State,
    pub sheets: u16,
    pub boned: bool,
    pub sewer: Option<Sewer>,
    pub target: Option<Band>,
    pub threads: Vec<ThreadCurve>,
    /// Number of the paper's trials that were not measured in this state.
    pub unmeasured: usize,
    /// Number of trials the fit used, of any paper.
    pub trials_used: usize,
    pub grounds: Grounds,
}

impl ThreadCurve {
    /// The typical book, whose odds are quoted.
    pub fn typical(&self) -> Option<&CurvePoint> {
        self.points.iter().min_by_key(|point| point.sections.abs_diff(TYPICAL_SECTIONS))
    }

    /// Whether a typical book meets the target at better than even odds.
    pub fn is_likely(&self) -> bool {
        self.typical().and_then(|point| point.chance).is_some_and(|chance| chance >= EVEN)
    }
}

pub fn swell_view(bench: &Bench, asked: &SwellQuestion) -> Result<SwellView, SearchError> {
    if asked.threads.is_empty() {
        return Err(SearchError::NoThread);
    }
    let all = &bench.observations;
    let own: Vec<usize> =
        asked.paper.level.map(|level| trials_of(bench, level).collect()).unwrap_or_default();
    let sheets = asked.sheets.or_else(|| usual_sheets(all, &own)).unwrap_or(TYPICAL_SHEETS);
    let tried = Tried::of(all);
    let sewing = |sections| Sewing::new(sections, sheets, 1, 0).ok();
    let sewings: Vec<Sewing> = lengths(all, &tried).into_iter().filter_map(sewing).collect();
    let mut threads = asked.threads.clone();
    threads.sort_by(|a, b| a.diameter_mm.total_cmp(&b.diameter_mm).then(a.name.cmp(&b.name)));
    let mut plans = Vec::new();
    for thread in &threads {
        for &sewing in &sewings {
            plans.push(plan(asked, thread, sewing)?);
        }
    }
    let points = points(bench, &plans, asked.target.as_ref(), &tried);
    let seen = |row: &&Observation| row.state == asked.state && own.contains(&row.trial);
    let rows: Vec<&Observation> = all.rows.iter().filter(seen).collect();
    let alike = |trial: &Sewn| {
        let sewn = (trial.sheets, trial.on, trial.boned);
        sewn == (f64::from(sheets), 1, asked.boned) && trial.guards_mm == 0.0
    };
    let measured = |row: &&Observation| {
        let trial = &all.trials[row.trial];
        SwellPoint {
            trial: trial.name.to_string(),
            sections: trial.sections as u16,
            percent: all.measured_percent(row),
            is_alike: alike(trial),
        }
    };
    let curve = |(thread, points): (&PlannedThread, &[CurvePoint])| {
        let own = rows.iter().filter(|row| Some(all.trials[row.trial].thread) == thread.level);
        ThreadCurve {
            thread: thread.name.to_string(),
            diameter_mm: thread.diameter_mm,
            points: points.to_vec(),
            trials: own.map(measured).collect(),
        }
    };
    Ok(SwellView {
        paper: asked.paper.name.to_string(),
        state: asked.state,
        sheets,
        boned: asked.boned,
        sewer: Sewer::of(bench, asked.hand),
        target: asked.target.clone(),
        threads: threads.iter().zip(points.chunks(sewings.len().max(1))).map(curve).collect(),
        unmeasured: own.len() - rows.len(),
        trials_used: bench.fit.trials_used(),
        grounds: bench.grounds.clone(),
    })
}

/// The number of sheets in most of these trials, the smallest of equals.
fn usual_sheets(all: &Observations, trials: &[usize]) -> Option<u16> {
    let mut counts: BTreeMap<u16, usize> = BTreeMap::new();
    // Sheets are at most 40.
    trials.iter().for_each(|&at| *counts.entry(all.trials[at].sheets as u16).or_default() += 1);
    counts.into_iter().rev().max_by_key(|(_, count)| *count).map(|(sheets, _)| sheets)
}

/// The numbers of sections to draw: from four, or fewer if fewer were tried, to the most that were tried
/// or are usual.
fn lengths(all: &Observations, tried: &Tried) -> Vec<u16> {
    let sections = |&at: &usize| all.trials[at].sections as u32;
    let shortest = all.sewn_trials().iter().map(sections).min().unwrap_or(USUAL_SECTIONS);
    let last = tried.longest().unwrap_or(0).max(USUAL_SECTIONS).next_multiple_of(10);
    let step = [1, 2, 5, 10].into_iter().find(|step| last / step <= MOST_POINTS).unwrap_or(10);
    let first = shortest.clamp(1, 4).next_multiple_of(step);
    // Sections are at most 500.
    (first..=last).step_by(step as usize).map(|sections| sections as u16).collect()
}

fn plan(
    asked: &SwellQuestion,
    thread: &PlannedThread,
    sewing: Sewing,
) -> Result<Plan, SearchError> {
    let (paper, thread) = (asked.paper.clone(), thread.clone());
    let run = Run { paper, thread, sewing, boned: asked.boned };
    let mut plan = Plan::new(vec![run], asked.state)?;
    plan.hand = asked.hand;
    Ok(plan)
}

fn points(bench: &Bench, plans: &[Plan], target: Option<&Band>, tried: &Tried) -> Vec<CurvePoint> {
    let predictions = bench.fit.predict_each(plans);
    let point = |(plan, prediction): (&Plan, &Prediction)| CurvePoint {
        sections: plan.sections() as u16,
        percent: PercentRange::of(prediction),
        swell_mm: prediction.swell.summary(),
        chance: chance(prediction, target),
        is_beyond: tried.beyond(plan).gaps.iter().any(|gap| matches!(gap, Gap::Sections { .. })),
    };
    in_ranges(plans.len(), |range| {
        plans[range.clone()].iter().zip(&predictions[range]).map(point).collect()
    })
}
