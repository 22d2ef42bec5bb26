//! The best odds over the ways to sew the book, and what a trial block does to them.

use crate::jobs::plan::answer::best_ways;
use crate::jobs::plan::answer_way::Way;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::Question;
use crate::model::{Choosing, Plan, PlannedThread, SwellFit, TrialBlock};
use crate::observe::{Observations, ThreadLevel};
use crate::trade::{Guards, Height};
use crate::units::Millimetres;

/// Ways that are looked at: the ones with the best odds now.
const WAYS: usize = 48;
/// Sheets in a section to choose from, as `plan` has them.
const SHEETS: (u16, u16) = (1, 8);

/// The best odds over the ways to sew the planned leaves.
#[derive(Clone, Debug)]
pub struct BestOdds {
    /// The way that is best now.
    pub way: Way,
    pub chance: f64,
    /// How many ways there are.
    pub considered: usize,
}

/// The best odds now over the ways to sew the leaves of a plan whose papers and threads have places
/// in `all`, which `fit` fitted, and what they are on average after each block; `None` for a mixed
/// book, whose other ways are not looked for.
pub fn best_odds(
    fit: &SwellFit,
    all: &Observations,
    (plan, target): (&Plan, &Band),
    blocks: &[TrialBlock],
) -> Option<(BestOdds, Vec<f64>)> {
    let question = question(all, plan, target)?;
    let (ways, considered) = best_ways(fit, &question, WAYS).ok()?;
    let best = ways.first()?;
    let now = BestOdds { way: best.0.clone(), chance: best.2, considered };
    let plans: Vec<Plan> = ways.into_iter().map(|(_, plan, _)| plan).collect();
    let Band { low_percent, high_percent, .. } = *target;
    let choosing = Choosing { plans: &plans, low_percent, high_percent };
    let gains = fit.odds_gained(all, choosing, blocks).ok()?;
    let after = gains.into_iter().map(|gain| (now.chance + gain).min(1.0)).collect();
    Some((now, after))
}

/// The same leaves with every thread, folding and sewing.
fn question(all: &Observations, plan: &Plan, target: &Band) -> Option<Question> {
    let [run] = plan.runs() else { return None };
    let thread = |(level, thread): (usize, &ThreadLevel)| PlannedThread {
        name: thread.name.clone(),
        level: Some(level),
        diameter_mm: thread.diameter_mm,
    };
    Some(Question {
        paper: run.paper.clone(),
        threads: all.threads.iter().enumerate().map(thread).collect(),
        leaves: plan.leaves(),
        sheets: SHEETS,
        state: plan.state,
        hand: plan.hand,
        guards: (plan.guards_mm > 0.0).then_some(Guards::BuildUp(plan.guards_mm)),
        fore_edge: plan.fore_edge,
        // How high it is says only how much thread it takes.
        height: Height::new(Millimetres::new(250.0)?).ok()?,
        supports: None,
        exposed: false,
        target: target.clone(),
    })
}
