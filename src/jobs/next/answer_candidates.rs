//! Lists the trial blocks to consider.

use crate::jobs::forecast::answer_beyond::most_of;
use crate::model::{Plan, PlannedPaper, PlannedThread, Run, TrialBlock};
use crate::observe::Observations;
use crate::trade::{Sewing, State, customary_ends};

/// Sections of a block: the fewest that sew like a book, a usual block, a large block, and the
/// length of a short book (common practice, no source).
const SECTIONS: [u16; 4] = [SHORTEST, 10, 16, LONGEST];
pub(crate) const SHORTEST: u16 = 6;
/// The longest block considered, except for a book of more than twice as many sections: only half
/// of those show what its length does.
const LONGEST: u16 = 24;
/// Readings at each edge in each state (common practice, no source).
const READINGS: u16 = 3;

/// Which papers and threads the blocks use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stock {
    /// The plan's papers, with its threads and the book's thinnest and thickest other threads.
    OfPlan,
    /// Every paper of the book with the plan's threads, and every thread with the plan's papers.
    Any,
}

/// Every block considered for a plan whose papers and threads have levels in `all`. Blocks are sewn
/// all along, which puts in most thread, or as in the plan. They are boned if the plan is.
pub(crate) fn candidates(all: &Observations, plan: &Plan, stock: Stock) -> Vec<TrialBlock> {
    let mut blocks: Vec<TrialBlock> = Vec::new();
    for run in plan.runs() {
        for (paper, thread) in pairs(all, plan, run, stock) {
            for sewing in sewings(plan, run) {
                let run =
                    Run { paper: paper.clone(), thread: thread.clone(), sewing, ..run.clone() };
                for states in state_sets(plan.state) {
                    let hand = plan.hand.unwrap_or(0);
                    let block = TrialBlock { run: run.clone(), hand, states, readings: READINGS };
                    if !blocks.contains(&block) {
                        blocks.push(block);
                    }
                }
            }
        }
    }
    blocks
}

fn pairs(
    all: &Observations,
    plan: &Plan,
    run: &Run,
    stock: Stock,
) -> Vec<(PlannedPaper, PlannedThread)> {
    let others: Vec<PlannedThread> = (0..all.threads.len())
        .filter(|&level| plan.runs().iter().all(|run| run.thread.level != Some(level)))
        .map(|level| PlannedThread::of(all, level))
        .collect();
    let (threads, papers) = match stock {
        Stock::OfPlan => (contrasting(&others), Vec::new()),
        Stock::Any => {
            (others, (0..all.papers.len()).map(|level| PlannedPaper::of(all, level)).collect())
        }
    };
    let own = plan.runs().iter().map(|run| run.thread.clone());
    let with_own_paper = own.chain(threads).map(|thread| (run.paper.clone(), thread));
    let with_own_thread = papers.into_iter().map(|paper| (paper, run.thread.clone()));
    with_own_paper.chain(with_own_thread).collect()
}

/// The thinnest and the thickest thread: they separate the effect of thread from fold and depth.
fn contrasting(threads: &[PlannedThread]) -> Vec<PlannedThread> {
    let by_diameter =
        |a: &&PlannedThread, b: &&PlannedThread| a.diameter_mm.total_cmp(&b.diameter_mm);
    let ends = [threads.iter().min_by(by_diameter), threads.iter().max_by(by_diameter)];
    ends.into_iter().flatten().cloned().collect()
}

/// The least sections of a block that is long enough for a book: half of them, but no more like
/// those of `run` than can be recorded. `predict` asks for such a block too.
pub(super) fn long_enough(plan: &Plan, run: &Run) -> u16 {
    u16::try_from(plan.sections().div_ceil(2).min(most_of(run))).unwrap_or(u16::MAX)
}

/// The plan's sheets in a section, and one fewer or more, sewn all along. If the plan has several
/// sections to a traverse, also its sheets sewn that way.
fn sewings(plan: &Plan, run: &Run) -> Vec<Sewing> {
    let (sheets, on) = (run.sewing.sheets(), run.sewing.on());
    let long = Some(long_enough(plan, run)).filter(|sections| *sections > LONGEST);
    let lengths = SECTIONS.into_iter().chain(long);
    let beside = [sheets, sheets.saturating_sub(1), sheets.saturating_add(1)];
    let along = |sheets| lengths.clone().map(move |sections| Sewing::new(sections, sheets, 1, 0));
    let shared = lengths.clone().filter(|_| run.sewing.is_two_on()).filter_map(|sections| {
        let (most, _) = customary_ends(sections, on)?;
        let (first, last) = (run.sewing.first().min(most), run.sewing.last().min(most));
        // Sections that do not make a whole traverse join the last end.
        let over = sections.saturating_sub(first + last) % u16::from(on);
        let sewing = Sewing::new(sections, sheets, on, 0);
        Some(sewing.and_then(|sewing| sewing.with_ends(first, last + over)))
    });
    // Drops sections without sheets, or with more than a book allows.
    beside.into_iter().flat_map(along).chain(shared).flatten().collect()
}

/// Sets of states to measure: as sewn only; then also the plan's state, or knocked down; then the
/// same from before sewing.
fn state_sets(wanted: State) -> Vec<Vec<State>> {
    let then: &[State] = match wanted {
        State::Unsewn | State::Sewn | State::Knocked => &[State::Knocked],
        State::Pressed => &[State::Pressed],
        State::KnockedPressed => &[State::Knocked, State::KnockedPressed],
    };
    let on = [&[State::Sewn], then].concat();
    let from = [&[State::Unsewn, State::Sewn], then].concat();
    vec![vec![State::Sewn], on, from]
}
