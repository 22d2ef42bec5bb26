//! The best odds over the ways to sew the book, and what a trial block does to them.

use super::admitted::Admitted;
use crate::decide::band::Band;
use crate::decide::search::{Question, Way, best_ways};
use crate::model::{Choosing, Plan, PlannedThread, SwellFit, TrialBlock};
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
    /// Its chance.
    pub chance: f64,
    /// How many ways there are.
    pub considered: usize,
}

/// The best odds now, and by how much each block raises them on average; `None` for a mixed book,
/// whose other ways are not looked for.
pub(super) fn best_odds(
    (admitted, fit): (&Admitted, &SwellFit),
    target: &Band,
    blocks: &[TrialBlock],
) -> Option<(BestOdds, Vec<f64>)> {
    let question = question(admitted, target)?;
    let (ways, considered) = best_ways(fit, &question, WAYS).ok()?;
    let best = ways.first()?;
    let now = BestOdds { way: best.0.clone(), chance: best.2, considered };
    let plans: Vec<Plan> = ways.into_iter().map(|(_, plan, _)| plan).collect();
    let Band { low_percent, high_percent, .. } = *target;
    let choosing = Choosing { plans: &plans, low_percent, high_percent };
    let gains = fit.odds_gained(&admitted.all, choosing, blocks).ok()?;
    Some((now, gains))
}

/// The same leaves with every thread, folding and sewing.
fn question(admitted: &Admitted, target: &Band) -> Option<Question> {
    let plan = &admitted.plan;
    let [run] = plan.runs() else { return None };
    let thread = |(level, thread): (usize, &crate::observe::ThreadLevel)| PlannedThread {
        name: thread.name.clone(),
        level: Some(level),
        diameter_mm: thread.diameter_mm,
    };
    Some(Question {
        paper: run.paper.clone(),
        threads: admitted.all.threads.iter().enumerate().map(thread).collect(),
        leaves: plan.leaves(),
        sheets: SHEETS,
        state: plan.state,
        hand: plan.hand,
        guards: (plan.guards_mm > 0.0).then_some(Guards::BuildUp(plan.guards_mm)),
        fore_edge: plan.fore_edge,
        // How high it is says only how much thread it takes.
        height: Height::new(Millimetres::new(250.0)?).ok()?,
        supports: None,
        target: target.clone(),
    })
}
