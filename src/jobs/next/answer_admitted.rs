//! Gives every paper, thread and hand of a plan a level in the fit.

use crate::book::Config;
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::model::{Plan, SwellFit, admit};
use crate::observe::Observations;

/// Observations and a plan whose stock has levels there; a new fit if the book's own lacks one.
pub(crate) struct Admitted {
    pub all: Observations,
    pub plan: Plan,
    fit: Option<SwellFit>,
}

impl Admitted {
    /// Gives everything in the plan a level, so that plan and trial blocks share their unknowns.
    ///
    /// # Errors
    /// [`BenchError`] if the fit fails.
    pub fn new(bench: &Bench, config: &Config, plan: &Plan) -> Result<Self, BenchError> {
        let known = &bench.observations;
        let (all, plans) = admit(known, std::slice::from_ref(plan));
        let places = |all: &Observations| [all.papers.len(), all.threads.len(), all.hands.len()];
        let grown = places(&all) != places(known);
        let fit = grown.then(|| SwellFit::new(&all, &beliefs(config)?)).transpose()?;
        let plan = plans.into_iter().next().unwrap_or_else(|| plan.clone());
        Ok(Self { all, plan, fit })
    }

    /// The fit that has those levels.
    pub fn fit<'a>(&'a self, bench: &'a Bench) -> &'a SwellFit {
        self.fit.as_ref().unwrap_or(&bench.fit)
    }
}
