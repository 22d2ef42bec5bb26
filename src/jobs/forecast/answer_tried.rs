//! What the trials have tried, and how a plan goes beyond it.

use super::answer_beyond::{Beyond, ClosingBlock, Gap};
use crate::model::{Plan, Run};
use crate::observe::{Observation, Observations};
use crate::trade::{Hardness, Name, State};

/// A book goes beyond the trials with more than this many times the sections of the longest trial
/// block, or with fewer than half the sections of the shortest. By the starting belief about
/// `length`, the share of the thread that shows is then uncertain by 0.08·ln 2 = 0.055 more. That
/// is as much as one sewing differs from the next, so up to there the extrapolation is not what
/// decides.
const SECTIONS: f64 = 2.0;
/// Sections go beyond the trials if they are more than this many times deeper than the deepest
/// tried, or shallower than the shallowest. By the starting belief about `depth`, the share is then
/// uncertain by 0.10·ln 1.5 = 0.04 more.
const DEPTH: f64 = 1.5;

/// The least and the most of something.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Span(f64, f64);

impl Span {
    fn of(values: impl Iterator<Item = f64>) -> Option<Self> {
        let alone = values.map(|value| Self(value, value));
        alone.reduce(|one, other| Self(one.0.min(other.0), one.1.max(other.1)))
    }

    /// Whether `value` is outside by more than a factor of `times`.
    fn is_passed(self, value: f64, times: f64) -> bool {
        value > times * self.1 || times * value < self.0
    }
}

/// A block that was sewn and measured in a state with thread in it.
#[derive(Clone, Debug, PartialEq)]
struct Block {
    sections: f64,
    thread: Name,
    diameter_mm: f64,
    depth: f64,
    on: u8,
    hardness: Hardness,
    boned: bool,
    state: State,
}

/// What was tried: every block measured with thread in it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tried(Vec<Block>);

fn depth_of(run: &Run) -> f64 {
    f64::from(run.sewing.sheets()) * run.paper.caliper_mm / run.thread.diameter_mm
}

impl Tried {
    pub fn of(all: &Observations) -> Self {
        let rows = all.rows.iter().filter(|row| row.state.has_thread());
        let block = |row: &Observation| {
            let trial = &all.trials[row.trial];
            let (paper, thread) = (&all.papers[trial.paper], &all.threads[trial.thread]);
            Block {
                sections: trial.sections,
                thread: thread.name.clone(),
                diameter_mm: thread.diameter_mm,
                depth: trial.sheets * paper.caliper_mm / thread.diameter_mm,
                on: trial.on,
                hardness: paper.hardness,
                boned: trial.boned,
                state: row.state,
            }
        };
        Self(rows.map(block).collect())
    }

    /// Adds the part of a book that was sewn and measured.
    #[must_use]
    pub fn and(mut self, part: &Plan) -> Self {
        let block = |run: &Run| Block {
            sections: f64::from(part.sections()),
            thread: run.thread.name.clone(),
            diameter_mm: run.thread.diameter_mm,
            depth: depth_of(run),
            on: run.sewing.on(),
            hardness: run.paper.hardness,
            boned: run.boned,
            state: part.state,
        };
        self.0.extend(part.runs().iter().map(block));
        self
    }

    /// Sections of the longest block; `None` before the first trial.
    pub fn longest(&self) -> Option<u32> {
        // A count of sections is below 65,536.
        self.span(|block| block.sections).map(|Span(_, high)| high as u32)
    }

    fn span(&self, of: impl Fn(&Block) -> f64) -> Option<Span> {
        Span::of(self.0.iter().map(of))
    }

    /// Whether `is_so` holds for no block.
    fn lacks(&self, is_so: impl Fn(&Block) -> bool) -> bool {
        !self.0.iter().any(is_so)
    }

    /// How `plan` goes beyond what was tried, and what would close the gaps.
    pub fn beyond(&self, plan: &Plan) -> Beyond {
        if self.0.is_empty() {
            return Beyond::default();
        }
        let mut beyond = Beyond { gaps: self.of_whole(plan), ..Beyond::default() };
        let mut whole = ClosingBlock::default();
        beyond.gaps.iter().for_each(|gap| whole.close(gap, &plan.runs()[0]));
        for run in plan.runs() {
            let new: Vec<Gap> =
                self.of_run(run).into_iter().filter(|gap| !beyond.gaps.contains(gap)).collect();
            if !new.is_empty() {
                let mut block = std::mem::take(&mut whole);
                new.iter().for_each(|gap| block.close(gap, run));
                beyond.closing.push(block);
                beyond.gaps.extend(new);
            }
        }
        // If no run has a gap of its own, the gaps of the whole book take a block for themselves.
        beyond.closing.extend((whole != ClosingBlock::default()).then_some(whole));
        beyond
    }

    /// Like [`Tried::beyond`], for a book that is being sewn: its own next sections tell more about
    /// a long book than a trial block.
    pub fn beyond_part_way(&self, plan: &Plan) -> Beyond {
        let mut beyond = self.beyond(plan);
        for block in &mut beyond.closing {
            beyond.again_at = beyond.again_at.or(block.sections.take().map(|(least, _)| least));
        }
        beyond.closing.retain(|block| *block != ClosingBlock::default());
        beyond
    }

    /// The gaps of the whole book and its state.
    fn of_whole(&self, plan: &Plan) -> Vec<Gap> {
        let (planned, state) = (plan.sections(), plan.state);
        let passed = self.span(|block| block.sections);
        let passed = passed.filter(|span| span.is_passed(f64::from(planned), SECTIONS));
        let sections = passed.map(|Span(low, high)| {
            // Counts of sections, all of them below 65,536.
            Gap::Sections { planned, sewn: (low as u32, high as u32) }
        });
        let lacks_state = self.lacks(|block| block.state == state);
        sections.into_iter().chain(lacks_state.then_some(Gap::State(state))).collect()
    }

    fn of_run(&self, run: &Run) -> Vec<Gap> {
        let Run { paper, thread, sewing, boned } = run;
        let lacks_thread = self.lacks(|block| block.thread == thread.name);
        let thread = self.span(|block| block.diameter_mm).map(|Span(low, high)| {
            let (name, planned_mm) = (thread.name.clone(), thread.diameter_mm);
            Gap::Thread { name, planned_mm, sewn_mm: (low, high) }
        });
        let planned = depth_of(run);
        let depth = self.span(|block| block.depth).filter(|span| span.is_passed(planned, DEPTH));
        let on = self.span(|block| f64::from(block.on));
        let on = on.filter(|span| span.is_passed(f64::from(sewing.on()), 1.0));
        let lacks_hardness = self.lacks(|block| block.hardness == paper.hardness);
        let hardness = Gap::Hardness { name: paper.name.clone(), planned: paper.hardness };
        let found = [
            thread.filter(|_| lacks_thread),
            depth.map(|Span(low, high)| Gap::Depth { planned, sewn: (low, high) }),
            on.map(|Span(low, high)| {
                let sewn = (low as u8, high as u8);
                Gap::Sewing { planned: sewing.on(), sewn }
            }),
            lacks_hardness.then_some(hardness),
            self.lacks(|block| block.boned == *boned).then_some(Gap::Boned(*boned)),
        ];
        found.into_iter().flatten().collect()
    }
}
