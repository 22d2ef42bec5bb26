//! Which papers are ready to plan with, and which blocks to sew next for the others.

use crate::book::Book;
use crate::jobs::fitted::{Bench, BenchError};
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::next::answer_admitted::Admitted;
use crate::jobs::next::answer_calibrate::{best_block, is_calibrated};
use crate::jobs::next::answer_choice::TrialChoice;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_typical::TYPICAL;
use crate::model::{Doubt, Plan, PlannedPaper, PlannedThread, Run, Wondered};
use crate::trade::{Name, Sewing, State};

/// The most papers for which a next block is advised.
const ADVISED: usize = 3;

/// The prediction of a typical book of a paper.
#[derive(Clone, Debug)]
pub struct Readiness {
    pub paper: Name,
    pub trials: usize,
    /// The swell of a typical book of the paper in per cent, knocked down.
    pub swell: PercentRange,
    /// The variance that trials could still remove, divided by the variance that none can.
    open: f64,
    /// Whether `open` is so small that `next` would ask for no more blocks.
    is_calibrated: bool,
}

impl Readiness {
    /// The width of a usual target in percentage points.
    pub const ROOM: f64 = 2.0 * Band::ROOM;

    /// Whether the paper was tried and its 90 % range is at most as wide as a usual target.
    pub fn is_ready(&self) -> bool {
        self.trials > 0 && self.width() <= Self::ROOM
    }

    fn width(&self) -> f64 {
        self.swell.q95 - self.swell.q05
    }
}

#[derive(Clone, Debug)]
pub struct Prospects {
    /// The thread of the typical book, the one of most trials; `None` without threads.
    pub thread: Option<Name>,
    /// Whether several hands have sewed, so that the predictions are for a new one.
    pub new_hand: bool,
    /// The papers, narrowest range first.
    pub papers: Vec<Readiness>,
    /// The best block of each paper that trials can still teach much: first the papers nearest to
    /// being ready, then the ready ones with most left to learn.
    pub next: Vec<TrialChoice>,
}

pub fn prospects(book: &Book, bench: &Bench) -> Result<Prospects, BenchError> {
    let new_hand = bench.observations.hands.len() > 1;
    let none = Prospects { thread: None, new_hand, papers: Vec::new(), next: Vec::new() };
    let Some(thread) = bench.usual_thread().and_then(|name| bench.thread(name)) else {
        return Ok(none);
    };
    let plans: Vec<Plan> =
        (book.papers().iter()).filter_map(|paper| typical(bench, &paper.name, &thread)).collect();
    let Some(first) = plans.first() else {
        return Ok(Prospects { thread: Some(thread.name), ..none });
    };
    // Papers and thread are those of the book, so what one plan lacks there, all of them lack.
    let admitted = Admitted::new(bench, book.config(), first)?;
    let mut asked: Vec<(Readiness, Plan)> = plans
        .into_iter()
        .map(|plan| Ok((readiness(bench, &admitted, &plan)?, plan)))
        .collect::<Result<_, BenchError>>()?;
    asked.sort_by(|a, b| a.0.width().total_cmp(&b.0.width()));
    let (mut ready, mut open): (Vec<_>, Vec<_>) =
        asked.iter().filter(|(paper, _)| !paper.is_calibrated).partition(|one| one.0.is_ready());
    ready.sort_by(|a, b| b.0.open.total_cmp(&a.0.open));
    open.extend(ready);
    let block = |(_, plan): &&(Readiness, Plan)| best_block(bench, book.config(), plan).transpose();
    let next = open.iter().take(ADVISED).filter_map(block).collect::<Result<_, _>>()?;
    let papers = asked.into_iter().map(|(paper, _)| paper).collect();
    Ok(Prospects { thread: Some(thread.name), papers, next, ..none })
}

/// A typical book of a paper; `None` for a paper that is not in the fit.
fn typical(bench: &Bench, paper: &Name, thread: &PlannedThread) -> Option<Plan> {
    let (sections, sheets) = TYPICAL;
    let sewing = Sewing::new(sections, sheets, 1, 0).ok()?;
    let run = Run { paper: bench.paper(paper)?, thread: thread.clone(), sewing, boned: false };
    Plan::new(vec![run], State::Knocked).ok()
}

fn readiness(bench: &Bench, admitted: &Admitted, plan: &Plan) -> Result<Readiness, BenchError> {
    let mut by_hand = plan.clone();
    by_hand.hand = admitted.plan.hand;
    let wondered = Wondered { all: &admitted.all, plan: &by_hand, sewn: &[], others: &[] };
    let worth = admitted.fit(bench).wonder(wondered)?;
    let Doubt { swell_mm, .. } = worth.before;
    let PlannedPaper { name, level, .. } = plan.runs()[0].paper.clone();
    let all = &bench.observations;
    let own = |trial: &usize| Some(all.trials[*trial].paper) == level;
    Ok(Readiness {
        paper: name,
        trials: all.sewn_trials().into_iter().filter(own).count(),
        swell: PercentRange::of(&bench.fit.predict(plan)),
        open: (swell_mm / worth.never_mm).powi(2) - 1.0,
        is_calibrated: is_calibrated(worth.before, worth.never_mm),
    })
}
