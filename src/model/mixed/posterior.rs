//! A finished fit: weighted draws of the spreads, each with a Gaussian for everything else.

use super::asking::{Asking, Moment, Shared, new_variance};
use super::conditional::{Conditional, Solve};
use super::envelope::dot;
use super::functional::Resolved;
use super::integrate::{Draws, SpreadDraws, spread_draws};
use super::lanes::{LANES, side_by_side};
use super::layout::Layout;
use super::mode::Mode;
use super::parallel::in_ranges;
use super::proposal::Proposal;
use super::{FitRecord, Functional, Mixture, Spread, SpreadId, Summary, weighted_summary};
use std::sync::{Arc, OnceLock};

/// What linfa's `Fit` gives: ask it for any [`Functional`].
#[derive(Clone, Debug)]
pub struct Posterior {
    pub(super) layout: Layout,
    spreads: Vec<Spread>,
    pub(super) mode: Vec<f64>,
    mode_log_likelihood: f64,
    pub(super) theta: Vec<Vec<f64>>,
    solved: Option<Vec<Conditional<LANES>>>,
    pub(super) weights: Arc<[f64]>,
    pub(super) proposal: Proposal,
    /// What is asked of the spreads alone is asked of many more draws, made when it is asked first.
    alone: OnceLock<SpreadDraws>,
    record: FitRecord,
}

/// A named part of a sum, for [`Posterior::shares`].
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name.
    pub name: &'static str,
    /// What it adds to the sum.
    pub functional: Functional,
}

/// A part's share of the variance of the sum.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// The part's name.
    pub name: &'static str,
    /// Covariance of the part with the sum; the shares add up to the variance of the sum.
    pub covariance: f64,
}

impl Posterior {
    pub(super) fn new(layout: Layout, spreads: Vec<Spread>, mode: Mode, draws: Draws) -> Self {
        let record = FitRecord {
            evaluations: mode.evaluations + draws.evaluations,
            draws: draws.theta.len(),
            effective_draws: draws.trust.effective,
            largest_weight: draws.trust.largest,
            pareto_k: draws.trust.pareto_k,
            starts: mode.starts,
        };
        Self {
            mode: super::mode::spreads_at(&layout, &mode.x),
            mode_log_likelihood: mode.log_likelihood,
            layout,
            spreads,
            theta: draws.theta,
            solved: draws.solved,
            weights: draws.weights.into(),
            proposal: draws.proposal,
            alone: OnceLock::new(),
            record,
        }
    }

    /// The same question with other draws; its mode stays the one that was found.
    pub(super) fn with(&self, layout: Layout, draws: Draws) -> Self {
        Self {
            layout,
            spreads: self.spreads.clone(),
            mode: self.mode.clone(),
            mode_log_likelihood: self.mode_log_likelihood,
            theta: draws.theta,
            solved: draws.solved,
            weights: draws.weights.into(),
            proposal: draws.proposal,
            alone: OnceLock::new(),
            record: self.record.clone(),
        }
    }

    /// How the fit came about.
    pub fn record(&self) -> &FitRecord {
        &self.record
    }

    /// The most probable value of a spread; under flat beliefs the REML estimate.
    pub fn mode(&self, id: SpreadId) -> f64 {
        self.mode[id.0]
    }

    /// Log marginal likelihood at the mode.
    pub fn mode_log_likelihood(&self) -> f64 {
        self.mode_log_likelihood
    }

    /// Whether another design has the same spreads, under the same beliefs.
    pub(super) fn has_spreads(&self, spreads: &[Spread]) -> bool {
        self.spreads == spreads
    }

    /// Observations of the fit.
    pub fn rows(&self) -> usize {
        self.layout.rows
    }

    /// A spread's name and belief.
    pub fn spread(&self, id: SpreadId) -> &Spread {
        &self.spreads[id.0]
    }

    fn alone(&self) -> &SpreadDraws {
        self.alone.get_or_init(|| spread_draws(&self.layout, &self.proposal))
    }

    /// A spread's distribution after the data: averages over the draws, and quantiles of many more.
    pub fn spread_summary(&self, id: SpreadId) -> Summary {
        let Summary { mean, sd, .. } = weighted_summary(&self.spread_draws(id), &self.weights);
        let draws = self.alone();
        let values: Vec<f64> = draws.theta.iter().map(|theta| theta[id.0]).collect();
        Summary { mean, sd, ..weighted_summary(&values, &draws.weights) }
    }

    /// The share of a spread's distribution below `value`: the weight of the draws below it.
    pub fn spread_share_below(&self, id: SpreadId, value: f64) -> f64 {
        let SpreadDraws { theta, weights } = self.alone();
        let draws = theta.iter().zip(weights);
        draws.filter(|(theta, _)| theta[id.0] < value).map(|(_, weight)| weight).sum()
    }

    /// The distribution of each functional: a mixture over the draws of the spreads.
    pub fn project(&self, functionals: &[Functional]) -> Vec<Mixture> {
        self.projected(&self.resolved(functionals), None)
    }

    /// As [`Posterior::project`], for many functionals of a few columns: the columns are asked, and
    /// each functional is put together from them. One alone comes out the same to the last bit.
    pub fn project_by_columns(&self, functionals: &[Functional]) -> Vec<Mixture> {
        let resolved = self.resolved(functionals);
        self.projected(&resolved, Some(&Shared::of(&resolved)))
    }

    fn resolved(&self, functionals: &[Functional]) -> Vec<Resolved> {
        functionals.iter().map(|functional| functional.resolve(&self.layout)).collect()
    }

    fn projected(&self, resolved: &[Resolved], shared: Option<&Shared>) -> Vec<Mixture> {
        let moments = in_ranges(self.groups(), |range| {
            let (mut solve, mut asking) = (Solve::new(&self.layout), Asking::new(&self.layout));
            let of_group = |group| -> Vec<Moment<LANES>> {
                let system = self.group(group, &mut solve);
                match shared {
                    Some(shared) => shared.moments(&mut asking, system, resolved),
                    None => resolved.iter().map(|one| asking.moment(system, one)).collect(),
                }
            };
            range.map(of_group).collect()
        });
        let of = |index: usize, pick: fn(&Moment<LANES>) -> &[f64; LANES]| {
            let lanes = moments.iter().flat_map(|group| pick(&group[index]));
            lanes.copied().take(self.theta.len()).collect()
        };
        (0..resolved.len())
            .map(|index| {
                let (means, sds) = (of(index, |one| &one.mean), of(index, |one| &one.sd));
                Mixture::new(Arc::clone(&self.weights), means, sds)
            })
            .collect()
    }

    /// How many groups of eight draws there are.
    pub(super) fn groups(&self) -> usize {
        self.theta.len().div_ceil(LANES)
    }

    /// Eight draws side by side: kept, or solved again.
    pub(super) fn group<'a>(
        &'a self,
        group: usize,
        solve: &'a mut Solve<'_, LANES>,
    ) -> &'a Conditional<LANES> {
        if let Some(solved) = &self.solved {
            return &solved[group];
        }
        solve.side_by_side(&side_by_side(self.draws_of(group)));
        &solve.system
    }

    /// The spreads of a group of draws.
    pub(super) fn draws_of(&self, group: usize) -> &[Vec<f64>] {
        let from = group * LANES;
        &self.theta[from..self.theta.len().min(from + LANES)]
    }

    /// Mean, standard deviation and quantiles of each functional.
    pub fn summaries(&self, functionals: &[Functional]) -> Vec<Summary> {
        let mixtures = self.project(functionals);
        in_ranges(mixtures.len(), |range| mixtures[range].iter().map(Mixture::summary).collect())
    }

    /// Mean and standard deviation of each functional with every spread at its mode.
    pub fn at_mode(&self, functionals: &[Functional]) -> Vec<(f64, f64)> {
        let resolved: Vec<_> = functionals.iter().map(|f| f.resolve(&self.layout)).collect();
        let mut solve = Solve::new(&self.layout);
        solve.at(&self.mode);
        let mut asking = Asking::new(&self.layout);
        let moment = |functional| asking.moment(&solve.system, functional);
        resolved.iter().map(moment).map(|moment| (moment.mean[0], moment.sd[0])).collect()
    }

    /// Splits the variance of the sum of `parts`: each part's covariance with the sum, within
    /// and between draws of the spreads. The new draws of different parts are independent.
    pub fn shares(&self, parts: &[Part]) -> Vec<Share> {
        let resolved: Vec<_> = parts.iter().map(|p| p.functional.resolve(&self.layout)).collect();
        let per_draw = in_ranges(self.theta.len(), |range| {
            let mut solver = Solver::new(self);
            range.map(|draw| solver.covariances(draw, &resolved)).collect()
        });
        let sums: Vec<f64> = per_draw.iter().map(|parts| parts.iter().map(|p| p.0).sum()).collect();
        let average = |values: &dyn Fn(usize) -> f64| -> f64 {
            self.weights.iter().enumerate().map(|(draw, weight)| weight * values(draw)).sum()
        };
        let centre = average(&|draw| sums[draw]);
        let covariance = |index: usize| {
            let mean = average(&|draw| per_draw[draw][index].0);
            average(&|draw| {
                let (part, within) = per_draw[draw][index];
                within + (part - mean) * (sums[draw] - centre)
            })
        };
        parts
            .iter()
            .enumerate()
            .map(|(index, part)| Share { name: part.name, covariance: covariance(index) })
            .collect()
    }
}

/// Goes from draw to draw: each solved system was kept, or is solved again.
pub(super) struct Solver<'a> {
    posterior: &'a Posterior,
    solve: Solve<'a>,
    asking: Asking<'a>,
}

impl<'a> Solver<'a> {
    pub(super) fn new(posterior: &'a Posterior) -> Self {
        let layout = &posterior.layout;
        Self { posterior, solve: Solve::new(layout), asking: Asking::new(layout) }
    }

    /// The system at a draw, and what asks it.
    pub(super) fn at(&mut self, draw: usize) -> (&Conditional<1>, &mut Asking<'a>) {
        match &self.posterior.solved {
            Some(solved) => {
                solved[draw / LANES].copy_lane(draw % LANES, &mut self.solve.system);
            }
            None => {
                self.solve.at(&self.posterior.theta[draw]);
            }
        }
        (&self.solve.system, &mut self.asking)
    }

    /// For each part its mean and its covariance with the sum.
    fn covariances(&mut self, draw: usize, parts: &[Resolved]) -> Vec<(f64, f64)> {
        let (system, asking) = self.at(draw);
        let mut loaded = Vec::with_capacity(parts.len());
        let mut sum = vec![0.0; asking.c.len()];
        for part in parts {
            let [mean] = asking.load(system, part);
            let c = asking.c.as_flattened().to_vec();
            sum.iter_mut().zip(&c).for_each(|(total, x)| *total += x);
            loaded.push((mean, c));
        }
        (loaded.into_iter().zip(parts))
            .map(|((mean, c), part)| (mean, dot(&c, &sum) + new_variance(system, part)[0]))
            .collect()
    }
}
