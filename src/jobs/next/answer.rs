//! Ranks the trial blocks that could be sewn next for a plan.

use super::answer_admitted::Admitted;
use super::answer_candidates::{Stock, candidates};
use super::answer_choice::TrialChoice;
use super::answer_long::LongBook;
use super::answer_minutes::Minutes;
use super::answer_odds::{BestOdds, OddsAsked, best_odds};
use crate::book::Config;
use crate::jobs::fitted::{Bench, BenchError};
use crate::jobs::forecast::answer_tried::Tried;
use crate::jobs::plan_spec::answer_band::Band;
use crate::model::{Doubt, ModelError, Plan, SwellFit, TrialBlock, Wondered};
use crate::observe::Observations;
use serde::{Serialize, Serializer};

/// A block that narrows the uncertainty by a smaller share is not worth an hour (common practice,
/// no source).
const WORTH_SEWING: f64 = 0.05;

#[derive(Clone, Debug, Serialize)]
pub struct NextTrial {
    pub plan: Plan,
    pub trials_used: usize,
    pub before: Doubt,
    /// The variation between sewings, which no trial can reduce, in mm.
    #[serde(rename = "no_trial_removes_mm")]
    pub never_mm: f64,
    pub worth_sewing: bool,
    pub target: Option<Band>,
    pub chance: Option<f64>,
    /// The best chance now over all ways to sew the book; `None` without a target.
    #[serde(serialize_with = "chance_of")]
    pub best_odds: Option<BestOdds>,
    #[serde(rename = "long_block")]
    pub long: Option<LongBook>,
    pub minutes: Minutes,
    /// Every block considered, best first.
    pub choices: Vec<TrialChoice>,
}

fn chance_of<S: Serializer>(best: &Option<BestOdds>, serializer: S) -> Result<S::Ok, S::Error> {
    best.as_ref().map(|best| best.chance).serialize(serializer)
}

impl NextTrial {
    /// The first `count` blocks. If the book needs a long block and none of these is long, the best
    /// long block replaces the last.
    pub fn advised(&self, count: usize) -> Vec<&TrialChoice> {
        let mut advised: Vec<&TrialChoice> = self.choices.iter().take(count).collect();
        let lacks = |long: &LongBook| !advised.iter().any(|one| long.is_met_by(&one.block));
        let missing = self.long.filter(lacks).and_then(|long| long.best(&self.choices));
        if let Some((last, long)) = advised.last_mut().zip(missing) {
            *last = long;
        }
        advised
    }

    /// The greatest share by which a single block narrows the uncertainty.
    pub fn most_narrowed(&self) -> f64 {
        self.choices.iter().map(|choice| self.narrowed(choice)).fold(0.0, f64::max)
    }

    /// The share by which a block narrows the uncertainty.
    pub fn narrowed(&self, choice: &TrialChoice) -> f64 {
        1.0 - choice.after.swell_mm / self.before.swell_mm
    }
}

#[derive(Clone, Copy, Debug)]
pub struct NextOptions {
    pub minutes: Minutes,
    pub stock: Stock,
}

/// Ranks the blocks that could be sewn for `plan` by the variance of the swell in mm that each
/// removes per minute. Source: docs/model.md, "The next trial".
///
/// # Errors
/// [`BenchError`] if the plan's stock has no fit.
pub fn next_trial(
    bench: &Bench,
    config: &Config,
    plan: Plan,
    asked: Option<OddsAsked>,
    options: NextOptions,
) -> Result<NextTrial, BenchError> {
    let admitted = Admitted::new(bench, config, &plan)?;
    let (all, fit) = (&admitted.all, admitted.fit(bench));
    let mut ranked = rank(fit, all, &admitted.plan, options)?;
    let blocks: Vec<TrialBlock> = ranked.choices.iter().map(|it| it.block.clone()).collect();
    let best_odds =
        asked.as_ref().and_then(|asked| best_odds(fit, all, &admitted.plan, asked, &blocks));
    let best_odds = best_odds.map(|(now, after)| {
        for (choice, after) in ranked.choices.iter_mut().zip(after) {
            choice.best_odds = Some(after);
        }
        now
    });
    let target = asked.map(|asked| asked.target);
    let chance = |band: &Band| bench.fit.predict(&plan).chance(band.low_percent, band.high_percent);
    let mut next = NextTrial {
        chance: target.as_ref().map(chance),
        target,
        plan,
        trials_used: fit.trials_used(),
        before: ranked.before,
        never_mm: ranked.never_mm,
        worth_sewing: false,
        choices: ranked.choices,
        minutes: options.minutes,
        best_odds,
        long: LongBook::of(&Tried::of(all), &admitted.plan),
    };
    next.worth_sewing = next.most_narrowed() >= WORTH_SEWING;
    Ok(next)
}

#[derive(Clone, Debug)]
pub struct Ranked {
    pub before: Doubt,
    /// The uncertainty that no trial can reduce, in mm.
    pub never_mm: f64,
    /// The blocks, best first.
    pub choices: Vec<TrialChoice>,
}

/// Ranks the blocks for a plan whose papers and threads have levels in `all`, the data of `fit`.
///
/// # Errors
/// [`ModelError::Plan`] if a paper or thread has no level there.
pub fn rank(
    fit: &SwellFit,
    all: &Observations,
    plan: &Plan,
    options: NextOptions,
) -> Result<Ranked, ModelError> {
    let blocks = candidates(all, plan, options.stock);
    ranked(fit, Wondered { all, plan, sewn: &[], others: &blocks }, options.minutes)
}

pub(crate) fn ranked(
    fit: &SwellFit,
    wondered: Wondered<'_>,
    minutes: Minutes,
) -> Result<Ranked, ModelError> {
    let worth = fit.wonder(wondered)?;
    let now = worth.before.swell_mm.powi(2);
    let choice = |(block, after): (&TrialBlock, Doubt)| {
        let (minutes, removed_share) = (minutes.of(block), 1.0 - after.swell_mm.powi(2) / now);
        let (block, share_per_hour) = (block.clone(), 60.0 * removed_share / minutes);
        TrialChoice { block, minutes, after, removed_share, share_per_hour, best_odds: None }
    };
    let mut choices: Vec<TrialChoice> =
        wondered.others.iter().zip(worth.after).map(choice).collect();
    choices.sort_by(|a, b| b.share_per_hour.total_cmp(&a.share_per_hour));
    Ok(Ranked { before: worth.before, never_mm: worth.never_mm, choices })
}
