//! A plan whose papers and threads have places in the fit that is asked.

use crate::book::Config;
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::model::{Plan, SwellFit, admit};
use crate::observe::Observations;

/// Observations, plan and, where the book's own fit lacks a place for something, a new fit.
pub(crate) struct Admitted {
    pub all: Observations,
    pub plan: Plan,
    fit: Option<SwellFit>,
}

impl Admitted {
    /// Gives everything of the plan a place, so that plan and trial blocks share their unknowns.
    ///
    /// # Errors
    /// [`BenchError`] where there is no fit.
    pub fn new(bench: &Bench, config: &Config, plan: &Plan) -> Result<Self, BenchError> {
        let known = &bench.observations;
        let (all, plans) = admit(known, std::slice::from_ref(plan));
        let places = |all: &Observations| [all.papers.len(), all.threads.len(), all.hands.len()];
        let grown = places(&all) != places(known);
        let fit = grown.then(|| SwellFit::new(&all, &beliefs(config)?)).transpose()?;
        let plan = plans.into_iter().next().unwrap_or_else(|| plan.clone());
        Ok(Self { all, plan, fit })
    }

    /// The fit that has those places.
    pub fn fit<'a>(&'a self, bench: &'a Bench) -> &'a SwellFit {
        self.fit.as_ref().unwrap_or(&bench.fit)
    }
}
