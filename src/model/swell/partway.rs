//! A block that is part-way sewn. The part was measured, and the finished book shares its sewing.

use super::admit::admit;
use super::beliefs::Beliefs;
use super::error::ModelError;
use super::fit::SwellFit;
use super::fore_edge::{BlockRatios, Gaussian};
use super::plan::{Plan, Run};
use super::predict;
use super::predict::{BudgetLine, Prediction, Source, Stock, paper_of, parts, sums, total};
use crate::model::mixed::{Functional, MixedParams, Row};
use crate::observe::Observations;
use crate::trade::State;

/// The measurements of the sections that are sewn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartReading {
    /// Number of sections sewn, from the first on.
    pub sewn: u32,
    pub state: State,
    /// Thickness at the fold in mm: the mean of the readings and its standard deviation.
    pub spine: Gaussian,
    /// Thickness opposite the fold in mm.
    pub fore_edge: Gaussian,
}

impl PartReading {
    /// `S̄ − F̄` in mm, including repairs at the fold.
    pub fn swell_mm(&self) -> f64 {
        self.spine.mean - self.fore_edge.mean
    }

    /// Noise variance of the swell in mm²: `s²·(1/r_S + 1/r_F) + 2·δ²/12`.
    pub fn variance(&self) -> f64 {
        self.spine.sd * self.spine.sd + self.fore_edge.sd * self.fore_edge.sd
    }
}

impl Plan {
    /// The runs of the first `sewn` sections, in the order of sewing, and those of the remaining
    /// sections.
    pub fn split(&self, sewn: u32) -> (Vec<Run>, Vec<Run>) {
        let (mut begun, mut left, mut to_go) = (Vec::new(), Vec::new(), sewn);
        for run in self.runs() {
            let here = to_go.min(u32::from(run.sewing.sections()));
            // At most the run's own sections, which fit in a u16.
            let (first, rest) = run.sewing.split(u16::try_from(here).unwrap_or(u16::MAX));
            begun.extend(first.map(|sewing| Run { sewing, ..run.clone() }));
            left.extend(rest.map(|sewing| Run { sewing, ..run.clone() }));
            to_go -= here;
        }
        (begun, left)
    }

    /// The first `sewn` sections in `state` as a separate plan. It has their share of the repairs
    /// at the fold, by number of sections.
    ///
    /// # Errors
    /// [`ModelError::Plan`] without sections, or for a state without thread.
    pub fn begun(&self, sewn: u32, state: State) -> Result<Self, ModelError> {
        let mut part = Self::new(self.split(sewn).0, state)?;
        part.guards_mm = self.guards_mm * f64::from(part.sections()) / f64::from(self.sections());
        part.hand = self.hand;
        Ok(part)
    }

    /// # Errors
    /// [`ModelError::Plan`] without runs.
    pub fn with_runs(&self, runs: Vec<Run>) -> Result<Self, ModelError> {
        let mut plan = Self::new(runs, self.state)?;
        (plan.guards_mm, plan.hand, plan.fore_edge) = (self.guards_mm, self.hand, self.fore_edge);
        Ok(plan)
    }
}

/// The swell model fitted to a book and to the part of a block that is being sewn.
///
/// The part is one more observation. It shares with the finished book the sewing effect δ and the
/// effects of its papers, threads and hand. The stage effect ε and the hammering κ of the part are
/// not those of the finished book. Source: docs/model.md, "Updating part-way".
#[derive(Clone, Debug)]
pub struct PartwayFit {
    fit: SwellFit,
    ratios: BlockRatios,
    /// Indices of the block's papers in the fit, in the order of `ratios`.
    papers: Vec<Option<usize>>,
    plan: Plan,
}

impl PartwayFit {
    /// Fits the model to a book's observations and to the measurements of a part of `plan`.
    ///
    /// # Errors
    /// [`ModelError::Plan`] if no section is sewn; [`ModelError::Engine`] if too few draws over the
    /// spreads count.
    pub fn new(
        all: &Observations,
        beliefs: &Beliefs,
        plan: &Plan,
        reading: &PartReading,
    ) -> Result<Self, ModelError> {
        let (all, mut admitted) = admit(all, std::slice::from_ref(plan));
        let plan = admitted.remove(0);
        let part = plan.begun(reading.sewn, reading.state)?;
        let fit = fit_with(&all, beliefs, &part, reading)?;
        let papers: Vec<_> =
            sums(&plan, paper_of, Run::leaves_mm).iter().map(|((level, _), _)| *level).collect();
        let before = BlockRatios::new(&fit.ratios, papers.iter().copied());
        let ratios = before.measured(&leaves_mm(&part, &papers), reading.fore_edge);
        Ok(Self { fit, ratios, papers, plan })
    }

    /// The same under beliefs about coefficients and spreads that are `times` as wide.
    pub fn widened(&self, times: f64) -> Result<Self, ModelError> {
        Ok(Self {
            fit: self.fit.widened(times)?,
            ratios: self.ratios.clone(),
            papers: self.papers.clone(),
            plan: self.plan.clone(),
        })
    }

    /// The plan with the indices that its papers, threads and hand have in this fit. Ask the fit
    /// about this plan, or about one of the same papers with other runs.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The fit, in which the sewing is that of the block.
    pub fn fit(&self) -> &SwellFit {
        &self.fit
    }

    /// Predicts the finished book for each of these plans, in one pass over the draws.
    pub fn predict_each(&self, plans: &[Plan]) -> Vec<Prediction> {
        let asked: Vec<Functional> = plans.iter().map(|plan| self.fit.swell(plan)).collect();
        let swells = self.fit.posterior.project_by_columns(&asked).into_iter().zip(plans);
        swells.map(|(swell, plan)| Prediction { swell, fore_edge: self.fore_edge(plan) }).collect()
    }

    /// Predicts the plan in a new sewing, as if the binder began again, with what the part taught
    /// about papers, threads and hand.
    pub fn predict_anew(&self, plan: &Plan) -> Prediction {
        let parts = parts(plan, &self.fit.parts.anew());
        let swell = self.fit.posterior.project_by_columns(&[total(&parts)]).remove(0);
        Prediction { swell, fore_edge: predict::fore_edge(plan, &self.fit.ratios) }
    }

    /// What makes the prediction of the finished book uncertain.
    pub fn budget(&self, plan: &Plan, prediction: &Prediction) -> Vec<BudgetLine> {
        self.fit.budget(plan, prediction)
    }

    fn fore_edge(&self, plan: &Plan) -> Gaussian {
        plan.fore_edge.unwrap_or_else(|| self.ratios.fore_edge(&leaves_mm(plan, &self.papers)))
    }
}

impl SwellFit {
    /// F in mm of `part`, the first sections of `plan`. A fore-edge measured on the whole folded
    /// block informs it.
    pub fn fore_edge_of_part(&self, plan: &Plan, part: &Plan) -> Gaussian {
        let whole = sums(plan, paper_of, Run::leaves_mm);
        let begun = sums(part, paper_of, Run::leaves_mm);
        let of_part = |stock: Stock<'_>| {
            begun.iter().find(|(own, _)| *own == stock).map_or(0.0, |(_, leaves_mm)| *leaves_mm)
        };
        let papers = BlockRatios::new(&self.ratios, whole.iter().map(|((level, _), _)| *level));
        let leaves: Vec<f64> = whole.iter().map(|(_, leaves_mm)| *leaves_mm).collect();
        let known = plan.fore_edge.map(|edge| papers.measured(&leaves, edge));
        let leaves: Vec<f64> = whole.iter().map(|(stock, _)| of_part(*stock)).collect();
        known.unwrap_or(papers).fore_edge(&leaves)
    }
}

/// Leaves × caliper of each of `papers` in a plan, in mm.
fn leaves_mm(plan: &Plan, papers: &[Option<usize>]) -> Vec<f64> {
    let sums = sums(plan, paper_of, Run::leaves_mm);
    let of = |paper: &Option<usize>| {
        sums.iter().find(|((level, _), _)| level == paper).map_or(0.0, |(_, sum)| *sum)
    };
    papers.iter().map(of).collect()
}

/// The fit of the observations with the part as one more row.
fn fit_with(
    all: &Observations,
    beliefs: &Beliefs,
    part: &Plan,
    reading: &PartReading,
) -> Result<SwellFit, ModelError> {
    let (mut parts_of, mut design) = SwellFit::declare(all, beliefs);
    parts_of.begin(&mut design);
    // The part and the book are handled and hammered separately, so both effects are the row's own.
    let (own, shared): (Vec<_>, Vec<_>) = (parts(part, &parts_of).into_iter())
        .partition(|(source, _)| matches!(source, Source::Stage | Source::Knocking));
    let mean = total(&shared);
    design.push(Row {
        variance: reading.variance(),
        coefficients: mean.coefficients,
        effects: mean.effects,
        own: total(&own).new,
        block: None,
    });
    let rows = all.rows.iter().map(|row| row.swell_mm);
    let swells = rows.chain([reading.swell_mm() - mean.constant]).collect();
    SwellFit::of_design(all, parts_of, design, swells, MixedParams::new())
}
