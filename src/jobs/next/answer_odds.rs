//! The best chance over all ways to sew the book, and how a trial block changes it.

use crate::jobs::plan::answer::{best_ways, is_met};
use crate::jobs::plan::answer_way::Way;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::Question;
use crate::model::{Choosing, Plan, PlannedThread, SwellFit, TrialBlock};
use crate::observe::Observations;
use crate::trade::{Guards, Height};
use crate::units::Millimetres;

/// Number of ways examined: those with the best chances now.
const WAYS: usize = 48;

#[derive(Clone, Debug)]
pub struct BestOdds {
    pub way: Way,
    pub chance: f64,
    pub considered: usize,
}

impl BestOdds {
    pub fn is_met(&self) -> bool {
        is_met(self.chance)
    }
}

/// The book whose ways to sew are compared, as it was asked for.
#[derive(Clone, Debug)]
pub struct OddsAsked {
    pub target: Band,
    /// Leaves without those left blank in the plan: another folding leaves others blank.
    pub leaves: u32,
    /// The repairs as given: their build-up depends on the sections.
    pub guards: Option<Guards>,
}

/// The best chance now over all ways to sew the plan's leaves, and its average after each block.
/// The plan's papers and threads must have levels in `all`, the data of `fit`. `None` for a mixed
/// book, for which other ways are not searched.
pub fn best_odds(
    fit: &SwellFit,
    all: &Observations,
    plan: &Plan,
    asked: &OddsAsked,
    blocks: &[TrialBlock],
) -> Option<(BestOdds, Vec<f64>)> {
    let question = question(all, plan, asked)?;
    let (ways, considered) = best_ways(fit, &question, WAYS).ok()?;
    let best = ways.first()?;
    let now = BestOdds { way: best.way.clone(), chance: best.chance, considered };
    let plans: Vec<Plan> = ways.into_iter().map(|way| way.plan).collect();
    let Band { low_percent, high_percent, .. } = asked.target;
    let choosing = Choosing { plans: &plans, low_percent, high_percent };
    let gains = fit.odds_gained(all, choosing, blocks).ok()?;
    let after = gains.into_iter().map(|gain| (now.chance + gain).min(1.0)).collect();
    Some((now, after))
}

fn question(all: &Observations, plan: &Plan, asked: &OddsAsked) -> Option<Question> {
    let threads = (0..all.threads.len()).map(|level| PlannedThread::of(all, level)).collect();
    // The height affects only the length of thread needed, so any value will do.
    let height = Height::new(Millimetres::new(250.0)?).ok()?;
    let question = Question::again(plan, threads, asked.leaves, height, asked.target.clone())?;
    Some(Question { guards: asked.guards, ..question })
}
