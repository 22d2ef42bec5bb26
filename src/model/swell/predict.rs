//! Predicts the swell of a plan from a fit.

use super::beliefs::SwellSpread;
use super::design::{Conditions, Level, Parts, depth};
use super::fit::SwellFit;
use super::fore_edge::{ForeEdgeRatios, Gaussian};
use super::plan::{Plan, Run};
use crate::model::mixed::{Functional, Mixture, invert, normal_between};
use crate::trade::Name;
use serde::Serialize;

#[derive(Clone, Debug)]
pub struct Prediction {
    /// W in mm.
    pub swell: Mixture,
    /// F in mm.
    pub fore_edge: Gaussian,
}

/// A source of uncertainty about a plan's swell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// The coefficients that all papers share.
    Coefficients,
    Paper,
    Thread,
    Hand,
    /// Variation between sewings.
    Sewing,
    /// Variation between states.
    Stage,
    /// Variation between blocks, in how hard they are knocked down.
    Knocking,
    /// Swell of the fold itself.
    Fold,
    /// The thickness of the fore-edge, if it was not measured.
    ForeEdge,
}

/// A source's share of the variance of the swell in per cent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BudgetLine {
    pub source: Source,
    /// The shares add up to one.
    pub share: f64,
}

impl Prediction {
    /// The chance that the swell lies from `low` to `high`, all in per cent:
    /// `Σ w·[Φ((hi·F̄ − μ)/√(σ² + hi²·s_F²)) − Φ((lo·F̄ − μ)/√(σ² + lo²·s_F²))]`. Source:
    /// docs/model.md, "Predicting".
    pub fn chance(&self, low: f64, high: f64) -> f64 {
        // The weights may sum to one plus rounding, but a chance is at most one.
        (self.percent_cdf(high).0 - self.percent_cdf(low).0).clamp(0.0, 1.0)
    }

    /// The swell in per cent with probability `p` below it.
    pub fn percent_quantile(&self, p: f64) -> f64 {
        let centre = 100.0 * self.swell.mean() / self.fore_edge.mean;
        let relative = centre / 100.0 * self.fore_edge.sd;
        let width = 100.0 * self.swell.sd().hypot(relative) / self.fore_edge.mean;
        invert(|x| self.percent_cdf(x), p, centre, width)
    }

    /// The probability at or below `percent`, and its slope.
    pub fn percent_cdf(&self, percent: f64) -> (f64, f64) {
        let ratio = percent / 100.0;
        let Gaussian { mean, sd } = self.fore_edge;
        self.swell.components().fold((0.0, 0.0), |(share, slope), (weight, mu, sigma)| {
            let variance = sigma * sigma + ratio * ratio * sd * sd;
            let root = variance.sqrt();
            let z = (ratio * mean - mu) / root;
            // d/dr of z, for Newton steps.
            let dz = mean / root - z * ratio * sd * sd / variance;
            let (below, density) = normal_between(z);
            (share + weight * below, slope + weight * density * dz / 100.0)
        })
    }
}

/// F in mm: as measured, or the sum over papers. A paper has the same ratio in all its runs.
pub(in crate::model) fn fore_edge(plan: &Plan, ratios: &ForeEdgeRatios) -> Gaussian {
    plan.fore_edge.unwrap_or_else(|| {
        let papers = sums(plan, paper_of, Run::leaves_mm).into_iter();
        let (mean, variance) = papers
            .map(|((level, _), leaves_mm)| ratios.block(level, leaves_mm))
            .fold((0.0, 0.0), |(mean, variance), part| {
                (mean + part.mean, variance + part.sd * part.sd)
            });
        Gaussian { mean, sd: variance.sqrt() }
    })
}

/// The paper of a run, by which its leaves are summed.
pub(in crate::model) fn paper_of(run: &Run) -> Stock<'_> {
    (run.paper.level, &run.paper.name)
}

fn thread_of(run: &Run) -> Stock<'_> {
    (run.thread.level, &run.thread.name)
}

/// A paper or a thread of a plan. The name identifies one without a level.
pub(in crate::model) type Stock<'p> = (Level, &'p Name);

/// The sum of `amount` over the runs of each paper or thread of the plan.
pub(in crate::model) fn sums(
    plan: &Plan,
    key: fn(&Run) -> Stock<'_>,
    amount: impl Fn(&Run) -> f64,
) -> Vec<(Stock<'_>, f64)> {
    let mut sums: Vec<(Stock<'_>, f64)> = Vec::new();
    for run in plan.runs() {
        let key = key(run);
        match sums.iter_mut().find(|(known, _)| *known == key) {
            Some((_, sum)) => *sum += amount(run),
            None => sums.push((key, amount(run))),
        }
    }
    sums
}

/// The contribution of each paper or thread of the plan: `part` of its level and of the sum of
/// `amount` over its runs. An untried one is the same in all its runs, so its effect is drawn once.
fn shared(
    plan: &Plan,
    key: fn(&Run) -> Stock<'_>,
    amount: fn(&Run) -> f64,
    part: impl Fn(Level, f64) -> Functional,
) -> Functional {
    sums(plan, key, amount)
        .into_iter()
        .fold(Functional::default(), |all, ((level, _), sum)| all.plus_all(&part(level, sum)))
}

/// The parts of a plan's swell, by source.
pub(in crate::model) fn parts(plan: &Plan, parts: &Parts) -> Vec<(Source, Functional)> {
    let total_mm: f64 = plan.runs().iter().map(Run::build_up_mm).sum();
    let over_runs = |part: &dyn Fn(&Run) -> Functional| {
        plan.runs().iter().fold(Functional::default(), |sum, run| sum.plus_all(&part(run)))
    };
    let conditions = |run: &Run| Conditions {
        hardness: run.paper.hardness,
        boned: run.boned,
        state: plan.state,
        depth: depth(f64::from(run.sewing.sheets()), run.paper.caliper_mm, run.thread.diameter_mm),
        sections: f64::from(plan.sections()),
        two_on: run.sewing.is_two_on(),
    };
    let sections = |run: &Run| f64::from(run.sewing.sections());
    let own_fold = shared(plan, paper_of, sections, |level, sum| parts.paper_fold(level, sum));
    let mut fold = over_runs(&|run| parts.fold(plan.state, sections(run))).plus_all(&own_fold);
    fold.constant += plan.guards_mm;
    let own = |level, sum| parts.paper(level, plan.state, sum);
    vec![
        (Source::Coefficients, over_runs(&|run| parts.fixed(conditions(run), run.build_up_mm()))),
        (Source::Paper, shared(plan, paper_of, Run::build_up_mm, own)),
        (
            Source::Thread,
            shared(plan, thread_of, Run::build_up_mm, |level, sum| parts.thread(level, sum)),
        ),
        (Source::Hand, parts.hand(plan.hand, total_mm)),
        (Source::Sewing, parts.sewing(total_mm)),
        (Source::Stage, parts.new_draw(SwellSpread::Stage, total_mm)),
        (Source::Knocking, parts.knocking(plan.state, total_mm)),
        (Source::Fold, fold),
    ]
}

pub(in crate::model) fn total(parts: &[(Source, Functional)]) -> Functional {
    parts.iter().fold(Functional::default(), |sum, (_, part)| sum.plus_all(part))
}

impl SwellFit {
    /// Predicts the swell of a planned book. Its sewing and its stage are new draws.
    pub fn predict(&self, plan: &Plan) -> Prediction {
        self.predict_each(std::slice::from_ref(plan)).remove(0)
    }

    /// The fore-edge of a planned book in mm, as measured on the folded block or as predicted.
    pub fn fore_edge(&self, plan: &Plan) -> Gaussian {
        fore_edge(plan, &self.ratios)
    }

    /// Predicts several plans in one pass over the draws, each as [`SwellFit::predict`] does alone.
    pub fn predict_each(&self, plans: &[Plan]) -> Vec<Prediction> {
        let asked: Vec<Functional> = plans.iter().map(|plan| self.swell(plan)).collect();
        let swells = self.posterior.project_by_columns(&asked).into_iter().zip(plans);
        swells.map(|(swell, plan)| Prediction { swell, fore_edge: self.fore_edge(plan) }).collect()
    }

    /// The swell of a planned book in mm with every spread at its most probable value: a normal
    /// distribution. It treats the spreads as known, so it does not answer a binder's question.
    pub fn predict_at_mode(&self, plan: &Plan) -> Gaussian {
        let (mean, sd) = self.posterior.at_mode(&[self.swell(plan)])[0];
        Gaussian { mean, sd }
    }

    pub(in crate::model) fn swell(&self, plan: &Plan) -> Functional {
        total(&parts(plan, &self.parts))
    }

    /// The variance of the swell in per cent, split by source: each source's covariance with the
    /// swell, and the fore-edge's term `W²·s_F²/F⁴` beside `var W/F²`.
    pub fn budget(&self, plan: &Plan, prediction: &Prediction) -> Vec<BudgetLine> {
        let (sources, parts): (Vec<_>, Vec<_>) = parts(plan, &self.parts).into_iter().unzip();
        let (swell, edge) = (prediction.swell.mean(), prediction.fore_edge);
        let of_fore_edge = (swell * edge.sd / edge.mean).powi(2);
        let shares = self.posterior.shares(&parts);
        let total: f64 = shares.iter().sum::<f64>() + of_fore_edge;
        let lines = sources.into_iter().zip(&shares).filter(|(source, _)| {
            *source != Source::Hand || self.parts.spread(SwellSpread::Hand).is_some()
        });
        lines
            .map(|(source, share)| BudgetLine { source, share: share / total })
            .chain([BudgetLine { source: Source::ForeEdge, share: of_fore_edge / total }])
            .collect()
    }
}
