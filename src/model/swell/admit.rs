//! Adds a plan's untried papers, threads and hand to the observations.
//!
//! Some questions tie a plan to a measurement of the same stock: part of the very block, or a trial
//! block not yet sewn. Both need one shared unknown. A separate new draw for each would not connect
//! them.

use super::plan::{Plan, PlannedPaper, PlannedThread};
use crate::observe::{Observations, PaperLevel, ThreadLevel};

/// Adds an entry without readings for every paper, thread and hand of `plans` that the observations
/// lack. Returns these observations, and the plans with the new indices. One name is one paper, in
/// all plans.
pub fn admit(all: &Observations, plans: &[Plan]) -> (Observations, Vec<Plan>) {
    let (mut all, mut plans) = (all.clone(), plans.to_vec());
    for plan in &mut plans {
        for run in plan.runs_mut() {
            run.paper.level = Some(paper_place(&mut all.papers, &run.paper));
            run.thread.level = Some(thread_place(&mut all.threads, &run.thread));
        }
    }
    // If only one hand ever sewed, hands have no effect and need no entry.
    if all.hands.len() > 1 && plans.iter().any(|plan| plan.hand.is_none()) {
        let place = all.hands.len();
        all.hands.push("a new hand".to_owned());
        plans.iter_mut().for_each(|plan| plan.hand = plan.hand.or(Some(place)));
    }
    (all, plans)
}

fn paper_place(papers: &mut Vec<PaperLevel>, paper: &PlannedPaper) -> usize {
    let known = paper.level.or_else(|| papers.iter().position(|known| known.name == paper.name));
    known.unwrap_or_else(|| {
        let PlannedPaper { name, caliper_mm, hardness, .. } = paper.clone();
        papers.push(PaperLevel { name, caliper_mm, hardness });
        papers.len() - 1
    })
}

fn thread_place(threads: &mut Vec<ThreadLevel>, thread: &PlannedThread) -> usize {
    let known = thread.level.or_else(|| threads.iter().position(|known| known.name == thread.name));
    known.unwrap_or_else(|| {
        let PlannedThread { name, diameter_mm, .. } = thread.clone();
        threads.push(ThreadLevel { name, diameter_mm });
        threads.len() - 1
    })
}
