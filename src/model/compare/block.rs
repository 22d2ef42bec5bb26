//! What a fit predicts for a block that it has not seen.

use crate::model::mixed::{Functional, Mixture, SpreadId};
use crate::model::swell::predict;
use crate::model::{Gaussian, ModelError, Plan, Run, Source, SwellFit};
use crate::trade::State;

/// A trial treated as a plan, so that a fit can predict it.
#[derive(Clone, Debug)]
pub struct Block {
    /// Its index among all trials.
    pub trial: usize,
    /// What was sewn. Its paper and thread are indices into the fit that predicts it.
    pub run: Run,
    /// The hand that sewed it, as an index into that fit; `None` for a hand that the fit has not
    /// seen.
    pub hand: Option<usize>,
    /// The measurements, in order of state.
    pub seen: Vec<Seen>,
}

/// The measurements of a block in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    pub state: State,
    /// Swell less guards, in mm.
    pub swell_mm: f64,
    pub fore_edge_mm: f64,
    /// Noise variance of the swell in mm², from the readings of the other trials.
    pub variance: f64,
}

/// The change of swell from one state of a block to another.
#[derive(Clone, Debug)]
pub struct Shift {
    /// Index of the earlier state in [`Block::seen`].
    pub from: usize,
    pub to: usize,
    /// Distribution of the change in mm, without reading noise.
    pub change: Mixture,
}

/// A fit's predictions for a block, without reading noise.
#[derive(Clone, Debug)]
pub struct Expected {
    /// Swell in mm in each measured state.
    pub swells: Vec<Mixture>,
    /// The change between each pair of states.
    pub shifts: Vec<Shift>,
    /// The mean of the swells over the states.
    pub mean: Mixture,
}

impl Block {
    /// # Errors
    /// [`ModelError::Plan`] for a state without thread.
    pub fn plan(&self, state: State) -> Result<Plan, ModelError> {
        let mut plan = Plan::new(vec![self.run.clone()], state)?;
        plan.hand = self.hand;
        Ok(plan)
    }

    pub(super) fn plans(&self) -> Result<Vec<Plan>, ModelError> {
        self.seen.iter().map(|seen| self.plan(seen.state)).collect()
    }
}

/// The functionals to evaluate for one block: its swells, then its changes, then the mean swell.
struct Question {
    swells: Vec<Functional>,
    pairs: Vec<(usize, usize)>,
    changes: Vec<Functional>,
    mean: Functional,
}

impl Question {
    fn new(block: &Block, fit: &SwellFit) -> Result<Self, ModelError> {
        let parts: Vec<_> =
            block.plans()?.iter().map(|plan| predict::parts(plan, &fit.parts)).collect();
        let pairs: Vec<(usize, usize)> =
            (0..parts.len()).flat_map(|to| (0..to).map(move |from| (from, to))).collect();
        Ok(Self {
            swells: parts.iter().map(|parts| predict::total(parts)).collect(),
            changes: pairs.iter().map(|&(from, to)| change(&parts[from], &parts[to])).collect(),
            mean: mean(&parts),
            pairs,
        })
    }

    fn answered(&self, answers: &mut impl Iterator<Item = Mixture>) -> Option<Expected> {
        let swells = answers.by_ref().take(self.swells.len()).collect();
        let shifts = self.pairs.iter().zip(answers.by_ref().take(self.pairs.len()));
        let shift = |(&(from, to), change)| Shift { from, to, change };
        let shifts = shifts.map(shift).collect();
        Some(Expected { swells, shifts, mean: answers.next()? })
    }
}

impl SwellFit {
    /// Predicts blocks that the fit has not seen: the swell in each measured state, the change
    /// between each pair of states, and the mean swell. One pass over the draws answers everything.
    pub fn expect(&self, blocks: &[Block]) -> Result<Vec<Expected>, ModelError> {
        let questions: Vec<Question> =
            blocks.iter().map(|block| Question::new(block, self)).collect::<Result<_, _>>()?;
        let asked: Vec<Functional> = questions
            .iter()
            .flat_map(|one| one.swells.iter().chain(&one.changes).chain([&one.mean]))
            .cloned()
            .collect();
        let mut answers = self.posterior.project_by_columns(&asked).into_iter();
        Ok(questions.iter().filter_map(|question| question.answered(&mut answers)).collect())
    }

    /// The block's fore-edge in mm, predicted from the trials of its paper.
    ///
    /// # Errors
    /// [`ModelError::Plan`] if the block was not measured in a state with thread.
    pub fn expected_fore_edge(&self, block: &Block) -> Result<Gaussian, ModelError> {
        let state = block.seen.first().map_or(State::Unsewn, |seen| seen.state);
        Ok(predict::fore_edge(&block.plan(state)?, &self.ratios))
    }
}

fn change(from: &[(Source, Functional)], to: &[(Source, Functional)]) -> Functional {
    combined(&[(-1.0, from), (1.0, to)])
}

/// The mean over one block's states.
fn mean(states: &[Vec<(Source, Functional)>]) -> Functional {
    let share = 1.0 / states.len() as f64;
    combined(&states.iter().map(|state| (share, state.as_slice())).collect::<Vec<_>>())
}

/// A linear combination of one block's states, which list the same sources in the same order. The
/// states belong to one sewing, so they share every new effect. Only the stage effect is a separate
/// draw in each state.
fn combined(states: &[(f64, &[(Source, Functional)])]) -> Functional {
    let sources = states.first().map_or(0, |(_, parts)| parts.len());
    (0..sources).fold(Functional::default(), |sum, at| {
        let parts =
            states.iter().map(|(factor, parts)| (parts[at].0, times(*factor, &parts[at].1)));
        let mut whole = Functional::default();
        // Signed, because what is unknown of an untried paper's fold is the same in every state.
        let mut deviation = 0.0;
        for ((source, part), (factor, state)) in parts.zip(states) {
            if source == Source::Stage {
                whole = whole.plus_all(&part);
                continue;
            }
            deviation += factor * state[at].1.variance.sqrt();
            whole.constant += part.constant;
            whole.coefficients.extend(part.coefficients);
            whole.effects.extend(part.effects);
            part.new.into_iter().for_each(|(id, load)| add_to(&mut whole.new, id, load));
        }
        whole.variance += deviation * deviation;
        sum.plus_all(&whole)
    })
}

fn times(factor: f64, part: &Functional) -> Functional {
    let mut all = part.clone();
    all.constant *= factor;
    all.variance *= factor * factor;
    all.coefficients.iter_mut().for_each(|term| term.1 *= factor);
    all.effects.iter_mut().for_each(|term| term.2 *= factor);
    all.new.iter_mut().for_each(|term| term.1 *= factor);
    all
}

fn add_to(terms: &mut Vec<(SpreadId, f64)>, id: SpreadId, multiplier: f64) {
    match terms.iter_mut().find(|(known, _)| *known == id) {
        Some((_, sum)) => *sum += multiplier,
        None => terms.push((id, multiplier)),
    }
}
