//! A book ready for questions: its observations, their fit, and a fit of the beliefs alone.

use super::beliefs::answer_grounds::Grounds;
use super::beliefs::answer_pooled::{PoolFault, pooled};
use super::forecast::answer_leaning::TIMES;
use crate::book::{Book, Config};
use crate::model::{Beliefs, ModelError, PlannedPaper, PlannedThread, SwellFit};
use crate::observe::{Observations, ObserveError, Weighing, observe_without};
use crate::trade::Name;
use crate::units::both;
use std::collections::BTreeSet;
use std::sync::OnceLock;
use thiserror::Error;

#[derive(Debug, Error)]
pub enum BenchError {
    #[error(transparent)]
    Observe(#[from] ObserveError),
    #[error(transparent)]
    Model(#[from] ModelError),
}

#[derive(Clone, Debug)]
pub struct Bench {
    pub observations: Observations,
    pub fit: SwellFit,
    /// The fit of the beliefs alone, which is what "nominal" means.
    pub nominal: SwellFit,
    pub grounds: Grounds,
    wider: OnceLock<Option<SwellFit>>,
}

/// A book with its fit, to pass around together.
#[derive(Clone, Copy, Debug)]
pub struct Fitted<'a> {
    pub book: &'a Book,
    pub bench: &'a Bench,
}

impl Bench {
    pub fn of(book: &Book) -> Result<Self, BenchError> {
        Self::weighed(book, Weighing::Judged)
    }

    /// Like [`Bench::of`], with the given weighing of the readings.
    pub fn weighed(book: &Book, weighing: Weighing) -> Result<Self, BenchError> {
        let beliefs = beliefs(book.config())?;
        let of_book = || -> Result<_, BenchError> {
            let observations = observe_without(book, &BTreeSet::new(), weighing)?;
            let fit = SwellFit::new(&observations, &beliefs)?;
            Ok((observations, fit))
        };
        let (nominal, of_book) = both(|| SwellFit::nominal(&beliefs), of_book);
        let (observations, fit) = of_book?;
        Ok(Self::new(observations, fit, nominal?, Grounds::of(book.config())))
    }

    pub fn new(
        observations: Observations,
        fit: SwellFit,
        nominal: SwellFit,
        grounds: Grounds,
    ) -> Self {
        Self { observations, fit, nominal, grounds, wider: OnceLock::new() }
    }

    /// The fit with all beliefs and spreads twice as wide; `None` if it fails. It is computed once,
    /// because it takes longer than a prediction.
    pub fn wider(&self) -> Option<&SwellFit> {
        self.wider.get_or_init(|| self.fit.widened(TIMES).ok()).as_ref()
    }

    pub fn paper(&self, name: &Name) -> Option<PlannedPaper> {
        let level = self.observations.papers.iter().position(|paper| paper.name == *name)?;
        Some(PlannedPaper::of(&self.observations, level))
    }

    pub fn thread(&self, name: &Name) -> Option<PlannedThread> {
        let level = self.observations.threads.iter().position(|thread| thread.name == *name)?;
        Some(PlannedThread::of(&self.observations, level))
    }

    /// Whether a plan of this hand is for one that is new to the book: several have sewn in it, and
    /// the plan names none.
    pub fn is_new_hand(&self, hand: Option<usize>) -> bool {
        hand.is_none() && self.observations.hands.len() > 1
    }

    /// The thread used in most trials, the first of equals; `None` for a book without threads.
    pub fn usual_thread(&self) -> Option<&Name> {
        let all = &self.observations;
        let sewn = |level: usize| all.trials.iter().filter(|trial| trial.thread == level).count();
        let levels = (0..all.threads.len()).rev();
        levels.max_by_key(|&level| sewn(level)).map(|level| &all.threads[level].name)
    }
}

/// The starting beliefs: common practice or a pool, with the overrides of `book.toml` on top.
pub(crate) fn beliefs(config: &Config) -> Result<Beliefs, ModelError> {
    let refused = |fault: PoolFault| ModelError::Belief { message: fault.at("book.toml: [pool]") };
    let mut beliefs = match &config.pool {
        Some(chosen) => pooled(&chosen.pool).map_err(refused)?,
        None => Beliefs::default(),
    };
    for (name, belief) in &config.beliefs {
        beliefs.override_coefficient(name, belief.mean, belief.sd)?;
    }
    for (name, scale) in &config.spreads {
        beliefs.override_spread(name, *scale)?;
    }
    Ok(beliefs)
}
