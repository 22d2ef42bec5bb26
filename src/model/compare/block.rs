//! What a fit expects of a block it has not seen.

use crate::model::mixed::{Functional, Mixture, SpreadId};
use crate::model::{Gaussian, ModelError, Plan, Run, Source, SwellFit, predict};
use crate::trade::State;

/// A trial as something to be predicted.
#[derive(Clone, Debug)]
pub struct Block {
    /// Its place in the list of all trials.
    pub trial: usize,
    /// What was sewn, its paper and thread by their places in the fit that predicts it.
    pub run: Run,
    /// Who sewed it, by place in that fit; `None` for a hand it has not seen.
    pub hand: Option<usize>,
    /// What was measured, in order of state.
    pub seen: Vec<Seen>,
}

/// What was measured of a block in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// The state.
    pub state: State,
    /// Swell less guards, in mm.
    pub swell_mm: f64,
    /// Fore-edge in mm.
    pub fore_edge_mm: f64,
    /// Noise variance of the swell in mm², from the readings of the other trials.
    pub variance: f64,
}

/// The change of swell from one state of a block to another.
#[derive(Clone, Debug)]
pub struct Shift {
    /// The earlier state, a place in [`Block::seen`].
    pub from: usize,
    /// The later one.
    pub to: usize,
    /// The distribution of the change in mm, without the noise of the readings.
    pub change: Mixture,
}

/// What a fit expects of a block, without the noise of the readings.
#[derive(Clone, Debug)]
pub struct Expected {
    /// Swell in mm in each state seen.
    pub swells: Vec<Mixture>,
    /// The change between each two of them.
    pub shifts: Vec<Shift>,
}

impl Block {
    /// The block as a plan in one of its states.
    ///
    /// # Errors
    /// [`ModelError::Plan`] for a state without thread.
    pub fn plan(&self, state: State) -> Result<Plan, ModelError> {
        let mut plan = Plan::new(vec![self.run.clone()], state)?;
        plan.hand = self.hand;
        Ok(plan)
    }

    /// Its plans in every state seen.
    pub(super) fn plans(&self) -> Result<Vec<Plan>, ModelError> {
        self.seen.iter().map(|seen| self.plan(seen.state)).collect()
    }
}

/// What is asked of a fit about one block: its swells, then its changes.
struct Question {
    swells: Vec<Functional>,
    pairs: Vec<(usize, usize)>,
    changes: Vec<Functional>,
}

impl Question {
    fn new(block: &Block, fit: &SwellFit) -> Result<Self, ModelError> {
        let parts: Vec<_> =
            block.plans()?.iter().map(|plan| predict::parts(plan, &fit.parts)).collect();
        let pairs: Vec<(usize, usize)> =
            (0..parts.len()).flat_map(|to| (0..to).map(move |from| (from, to))).collect();
        let total = |parts: &Vec<(Source, Functional)>| {
            parts.iter().fold(Functional::default(), |sum, (_, part)| sum.plus_all(part))
        };
        Ok(Self {
            swells: parts.iter().map(total).collect(),
            changes: pairs.iter().map(|&(from, to)| change(&parts[from], &parts[to])).collect(),
            pairs,
        })
    }

    fn answered(&self, answers: &mut impl Iterator<Item = Mixture>) -> Expected {
        let swells = answers.by_ref().take(self.swells.len()).collect();
        let shifts = self.pairs.iter().zip(answers.by_ref().take(self.pairs.len()));
        let shift = |(&(from, to), change)| Shift { from, to, change };
        Expected { swells, shifts: shifts.map(shift).collect() }
    }
}

impl SwellFit {
    /// What the fit expects of blocks that it has not seen, in every state they were measured in
    /// and from one to the next; all in one pass over the draws.
    ///
    /// # Errors
    /// As [`Block::plan`].
    pub fn expect(&self, blocks: &[Block]) -> Result<Vec<Expected>, ModelError> {
        let questions: Vec<Question> =
            blocks.iter().map(|block| Question::new(block, self)).collect::<Result<_, _>>()?;
        let asked: Vec<Functional> = questions
            .iter()
            .flat_map(|one| one.swells.iter().chain(&one.changes))
            .cloned()
            .collect();
        let mut answers = self.posterior.project(&asked).into_iter();
        Ok(questions.iter().map(|question| question.answered(&mut answers)).collect())
    }
}

impl SwellFit {
    /// The fore-edge in mm that the paper's trials lead one to expect of a block.
    ///
    /// # Errors
    /// [`ModelError::Plan`] for a block that was seen in no state with thread.
    pub fn expected_fore_edge(&self, block: &Block) -> Result<Gaussian, ModelError> {
        let state = block.seen.first().map_or(State::Unsewn, |seen| seen.state);
        Ok(predict::fore_edge(&block.plan(state)?, &self.ratios))
    }
}

/// `to − from` of one block. It is one sewing: what it draws for itself goes into both states and
/// cancels; only each handling is a draw of its own.
fn change(from: &[(Source, Functional)], to: &[(Source, Functional)]) -> Functional {
    from.iter().zip(to).fold(Functional::default(), |sum, ((source, from), (_, to))| {
        let less = negated(from);
        if *source == Source::Stage {
            return sum.plus_all(to).plus_all(&less);
        }
        let mut part = to.clone();
        part.constant += less.constant;
        part.coefficients.extend(less.coefficients);
        part.effects.extend(less.effects);
        part.variance = (to.variance.sqrt() - from.variance.sqrt()).powi(2);
        for (id, multiplier) in less.new {
            add_to(&mut part.new, id, multiplier);
        }
        sum.plus_all(&part)
    })
}

fn negated(part: &Functional) -> Functional {
    let mut less = part.clone();
    less.constant = -less.constant;
    less.coefficients.iter_mut().for_each(|term| term.1 = -term.1);
    less.effects.iter_mut().for_each(|term| term.2 = -term.2);
    less.new.iter_mut().for_each(|term| term.1 = -term.1);
    less
}

fn add_to(terms: &mut Vec<(SpreadId, f64)>, id: SpreadId, multiplier: f64) {
    match terms.iter_mut().find(|(known, _)| *known == id) {
        Some((_, sum)) => *sum += multiplier,
        None => terms.push((id, multiplier)),
    }
}
