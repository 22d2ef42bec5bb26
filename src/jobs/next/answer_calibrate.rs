//! Chooses blocks one by one until they calibrate an untried paper.

use super::answer::ranked;
use super::answer_admitted::Admitted;
use super::answer_candidates::{Stock, candidates};
use super::answer_choice::TrialChoice;
use super::answer_long::LongBook;
use super::answer_minutes::Minutes;
use crate::book::Config;
use crate::jobs::fitted::{Bench, BenchError};
use crate::jobs::forecast::answer_tried::Tried;
use crate::model::{Doubt, Plan, TrialBlock, Wondered};
use serde::Serialize;

/// Limit for the variance of a typical book's swell that trials could still remove, as a share of
/// the variance that no trial can reduce. A paper is calibrated at or below it (common practice, no
/// source).
pub const CALIBRATED: f64 = 1.0 / 3.0;
/// The most blocks asked for at once.
pub const MOST_BLOCKS: usize = 8;

/// Blocks that calibrate a paper, in the order in which they were chosen.
#[derive(Clone, Debug, Serialize)]
pub struct Calibration {
    /// The typical book whose uncertainty the blocks should narrow.
    pub plan: Plan,
    pub before: Doubt,
    #[serde(rename = "no_trial_removes_mm")]
    pub never_mm: f64,
    /// The value of [`CALIBRATED`].
    pub calibrated_share: f64,
    #[serde(rename = "calibrated")]
    pub reached: bool,
    pub total_minutes: f64,
    pub minutes: Minutes,
    #[serde(rename = "long_block")]
    pub long: Option<LongBook>,
    /// The blocks. Each has the uncertainty after it and all blocks before it; its share is
    /// relative to the uncertainty just before it.
    pub steps: Vec<TrialChoice>,
}

/// Whether trials could remove only a small part of `doubt`, as [`CALIBRATED`] defines.
pub(crate) fn is_calibrated(doubt: Doubt, never_mm: f64) -> bool {
    doubt.swell_mm.powi(2) - never_mm.powi(2) <= CALIBRATED * never_mm.powi(2)
}

/// The block of the plan's papers that removes most variance of the plan's swell per minute.
pub(crate) fn best_block(
    bench: &Bench,
    config: &Config,
    plan: &Plan,
) -> Result<Option<TrialChoice>, BenchError> {
    let admitted = Admitted::new(bench, config, plan)?;
    let (all, fit) = (&admitted.all, admitted.fit(bench));
    let others = candidates(all, &admitted.plan, Stock::OfPlan);
    let wondered = Wondered { all, plan: &admitted.plan, sewn: &[], others: &others };
    Ok(ranked(fit, wondered, Minutes::default())?.choices.into_iter().next())
}

/// Chooses blocks of the plan's papers one by one, until the paper is calibrated. Each block is the
/// one that removes most variance of the typical book's swell per minute, given those before it. If
/// the book needs a long block and none was chosen, the best long block replaces the last.
///
/// # Errors
/// [`BenchError`] if the plan's stock has no fit.
pub fn calibrate(
    bench: &Bench,
    config: &Config,
    plan: Plan,
    minutes: Minutes,
) -> Result<Calibration, BenchError> {
    let admitted = Admitted::new(bench, config, &plan)?;
    let (all, fit) = (&admitted.all, admitted.fit(bench));
    let others = candidates(all, &admitted.plan, Stock::OfPlan);
    let ask = |sewn: &[TrialBlock]| {
        ranked(fit, Wondered { all, plan: &admitted.plan, sewn, others: &others }, minutes)
    };
    let first = ask(&[])?;
    let (before, never_mm) = (first.before, first.never_mm);
    let (mut first, mut now) = (Some(first), before);
    let (mut steps, mut sewn): (Vec<TrialChoice>, Vec<TrialBlock>) = (Vec::new(), Vec::new());
    while !is_calibrated(now, never_mm) && steps.len() < MOST_BLOCKS {
        let ranked = first.take().map_or_else(|| ask(&sewn), Ok)?;
        let Some(best) = ranked.choices.into_iter().next() else { break };
        now = best.after;
        sewn.push(best.block.clone());
        steps.push(best);
    }
    let long = LongBook::of(&Tried::of(all), &admitted.plan);
    let lacks = |long: &LongBook| !sewn.iter().any(|block| long.is_met_by(block));
    if let Some(long) = long.filter(|long| !steps.is_empty() && lacks(long)) {
        sewn.pop();
        if let Some(best) = long.best(&ask(&sewn)?.choices) {
            now = best.after;
            steps.pop();
            steps.push(best.clone());
        }
    }
    Ok(Calibration {
        plan,
        before,
        never_mm,
        calibrated_share: CALIBRATED,
        reached: is_calibrated(now, never_mm),
        total_minutes: steps.iter().map(|step| step.minutes).sum(),
        minutes,
        long,
        steps,
    })
}
