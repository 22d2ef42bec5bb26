//! What `next --json` gives.

use super::answer::NextTrial;
use super::answer_calibrate::{CALIBRATED, Calibration};
use super::answer_choice::TrialChoice;
use super::answer_long::LongBook;
use super::answer_minutes::Minutes;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::text_json::{PlanDocument, plan_document};
use crate::model::Doubt;
use crate::terminal::json::document;
use serde::Serialize;

#[derive(Serialize)]
struct DoubtDocument {
    swell_sd_mm: f64,
    percent_sd: f64,
}

impl From<Doubt> for DoubtDocument {
    fn from(doubt: Doubt) -> Self {
        Self { swell_sd_mm: doubt.swell_mm, percent_sd: doubt.percent }
    }
}

#[derive(Serialize)]
struct MinutesDocument {
    setup: f64,
    section: f64,
    state: f64,
}

impl From<Minutes> for MinutesDocument {
    fn from(minutes: Minutes) -> Self {
        let [setup, section, state] = minutes.each();
        Self { setup, section, state }
    }
}

#[derive(Serialize)]
struct ChoiceDocument {
    paper: String,
    thread: String,
    sections: u16,
    sheets: u16,
    on: u8,
    ends: u16,
    boned: bool,
    states: Vec<&'static str>,
    readings: u16,
    minutes: f64,
    after: DoubtDocument,
    removed_share: f64,
    share_per_hour: f64,
    best_odds: Option<f64>,
}

impl From<&TrialChoice> for ChoiceDocument {
    fn from(choice: &TrialChoice) -> Self {
        let block = &choice.block;
        Self {
            paper: block.run.paper.name.to_string(),
            thread: block.run.thread.name.to_string(),
            sections: block.run.sewing.sections(),
            sheets: block.run.sewing.sheets(),
            on: block.run.sewing.on(),
            ends: block.run.sewing.ends(),
            boned: block.run.boned,
            states: block.states.iter().map(|state| state.word()).collect(),
            readings: block.readings,
            minutes: choice.minutes,
            after: choice.after.into(),
            removed_share: choice.removed_share,
            share_per_hour: choice.share_per_hour(),
            best_odds: choice.best_odds,
        }
    }
}

/// A long book: its sections, those of the longest trial block, and the least of a long block.
#[derive(Serialize)]
struct LongDocument {
    planned: u32,
    longest: Option<u32>,
    at_least: u16,
}

impl From<LongBook> for LongDocument {
    fn from(long: LongBook) -> Self {
        Self { planned: long.planned, longest: long.longest, at_least: long.least }
    }
}

#[derive(Serialize)]
struct NextDocument<'a> {
    plan: PlanDocument,
    trials_used: usize,
    before: DoubtDocument,
    no_trial_removes_mm: f64,
    worth_sewing: bool,
    target: Option<&'a Band>,
    chance: Option<f64>,
    best_odds: Option<f64>,
    long_block: Option<LongDocument>,
    minutes: MinutesDocument,
    choices: Vec<ChoiceDocument>,
}

/// Every block considered, the best first, as one JSON object; lengths in mm.
pub fn next_json(next: &NextTrial) -> String {
    document(&NextDocument {
        plan: plan_document(&next.plan),
        trials_used: next.trials_used,
        before: next.before.into(),
        no_trial_removes_mm: next.never_mm,
        worth_sewing: next.is_worth_sewing(),
        target: next.target.as_ref().map(|target| &target.0),
        chance: next.target.as_ref().map(|target| target.1),
        best_odds: next.best_odds.as_ref().map(|best| best.chance),
        long_block: next.long.map(LongDocument::from),
        minutes: next.minutes.into(),
        choices: next.choices.iter().map(ChoiceDocument::from).collect(),
    })
}

#[derive(Serialize)]
struct CalibrationDocument {
    plan: PlanDocument,
    before: DoubtDocument,
    no_trial_removes_mm: f64,
    calibrated_share: f64,
    calibrated: bool,
    total_minutes: f64,
    minutes: MinutesDocument,
    long_block: Option<LongDocument>,
    steps: Vec<ChoiceDocument>,
}

/// The blocks that calibrate a paper as one JSON object; lengths in mm.
pub fn calibration_json(found: &Calibration) -> String {
    document(&CalibrationDocument {
        plan: plan_document(&found.plan),
        before: found.before.into(),
        no_trial_removes_mm: found.never_mm,
        calibrated_share: CALIBRATED,
        calibrated: found.reached,
        total_minutes: found.total_minutes(),
        minutes: found.minutes.into(),
        long_block: found.long.map(LongDocument::from),
        steps: found.steps.iter().map(ChoiceDocument::from).collect(),
    })
}
