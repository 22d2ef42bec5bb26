//! Evaluates functionals and spreads at every draw.

use super::asking::{Asking, Moment, Shared, new_variance};
use super::functional::{Resolved, resolved_together};
use crate::algebra::conditional::{Conditional, Solve};
use crate::algebra::envelope::dot;
use crate::algebra::lanes::LANES;
use crate::fit::spread_draws::SpreadDraws;
use crate::parallel::in_ranges;
use crate::{Functional, Mixture, Posterior, SpreadId, Summary, weighted_summary};
use std::sync::Arc;

impl Posterior {
    /// A spread's distribution after the data. The mean is over the fit's draws, which may be
    /// exported beside it. Everything else needs more draws, and uses those made for the spreads
    /// alone.
    pub fn spread_summary(&self, id: SpreadId) -> Summary {
        let Summary { mean, .. } = weighted_summary(&self.spread_draws(id), &self.weights);
        let SpreadDraws { theta, weights } = self.alone();
        let values: Vec<f64> = theta.iter().map(|theta| theta[id.0]).collect();
        Summary { mean, ..weighted_summary(&values, weights) }
    }

    /// The probability that a spread is below `value`: the weight of the draws below it.
    pub fn spread_share_below(&self, id: SpreadId, value: f64) -> f64 {
        let SpreadDraws { theta, weights } = self.alone();
        let draws = theta.iter().zip(weights);
        draws.filter(|(theta, _)| theta[id.0] < value).map(|(_, weight)| weight).sum()
    }

    /// The distribution of each functional: a mixture over the draws of the spreads.
    pub fn project(&self, functionals: &[Functional]) -> Vec<Mixture> {
        self.projected(&self.each_resolved(functionals))
    }

    /// As [`Posterior::project`], for many functionals of a few columns. It evaluates the columns
    /// and builds each functional from them. A functional asked alone comes out the same to the
    /// last bit.
    pub fn project_by_columns(&self, functionals: &[Functional]) -> Vec<Mixture> {
        let resolved = resolved_together(functionals, &self.layout);
        let shared = Shared::of(&resolved, &self.layout);
        let given = self.of_groups(|system, asking| shared.given(asking, system));
        in_ranges(resolved.len(), |range| {
            let of_one = |at| {
                let moment = |given| shared.moment(given, at, &resolved[at]);
                self.mixture(given.iter().map(moment))
            };
            range.map(of_one).collect()
        })
    }

    fn each_resolved(&self, functionals: &[Functional]) -> Vec<Resolved> {
        functionals.iter().map(|functional| functional.resolve(&self.layout)).collect()
    }

    fn projected(&self, resolved: &[Resolved]) -> Vec<Mixture> {
        let moments = self.of_groups(|system, asking| -> Vec<Moment<LANES>> {
            resolved.iter().map(|one| asking.moment(system, one)).collect()
        });
        in_ranges(resolved.len(), |range| {
            range.map(|at| self.mixture(moments.iter().map(|group| group[at]))).collect()
        })
    }

    /// Applies `of` to each group of eight draws.
    pub(super) fn of_groups<T: Send>(
        &self,
        of: impl Fn(&Conditional<LANES>, &mut Asking<'_, LANES>) -> T + Sync,
    ) -> Vec<T> {
        in_ranges(self.groups(), |range| {
            let (mut solve, mut asking) = (Solve::new(&self.layout), Asking::new(&self.layout));
            range.map(|group| of(self.group(group, &mut solve), &mut asking)).collect()
        })
    }

    /// The mixture over all draws, from the moments of each group of eight.
    fn mixture(&self, groups: impl Iterator<Item = Moment<LANES>>) -> Mixture {
        let count = self.theta.len();
        let room = || Vec::with_capacity(count.next_multiple_of(LANES));
        let (mut means, mut sds) = (room(), room());
        for Moment { mean, sd } in groups {
            means.extend(mean);
            sds.extend(sd);
        }
        means.truncate(count);
        sds.truncate(count);
        Mixture::new(Arc::clone(&self.weights), means, sds)
    }

    /// Mean, standard deviation and quantiles of each functional.
    pub fn summaries(&self, functionals: &[Functional]) -> Vec<Summary> {
        let (different, places) = different(self.each_resolved(functionals));
        let mixtures = self.projected(&different);
        let summaries: Vec<Summary> = in_ranges(mixtures.len(), |range| {
            mixtures[range].iter().map(Mixture::summary).collect()
        });
        places.into_iter().map(|place| summaries[place]).collect()
    }

    /// Mean and standard deviation of each functional with every spread at its mode.
    pub fn at_mode(&self, functionals: &[Functional]) -> Vec<(f64, f64)> {
        let resolved = self.each_resolved(functionals);
        let mut solve = Solve::new(&self.layout);
        solve.at(&self.mode);
        let mut asking = Asking::new(&self.layout);
        let moment = |functional| asking.moment(&solve.system, functional);
        resolved.iter().map(moment).map(|moment| (moment.mean[0], moment.sd[0])).collect()
    }

    /// Splits the variance of the sum of `parts`: each part's covariance with the sum, within and
    /// between draws of the spreads. New draws of different parts are independent.
    pub fn shares(&self, parts: &[Functional]) -> Vec<f64> {
        let resolved = resolved_together(parts, &self.layout);
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
        (0..parts.len()).map(covariance).collect()
    }
}

/// The functionals without repeats of those with unseen effects, and the index of each input among
/// them. Of thousands of papers that were never sewn, only one of each kind is evaluated.
fn different(functionals: Vec<Resolved>) -> (Vec<Resolved>, Vec<usize>) {
    let (mut different, mut unseen) = (Vec::<Resolved>::new(), Vec::<usize>::new());
    let place = |one: Resolved| {
        let known = unseen.iter().copied().find(|&place| different[place] == one);
        known.unwrap_or_else(|| {
            if !one.unseen.is_empty() {
                unseen.push(different.len());
            }
            different.push(one);
            different.len() - 1
        })
    };
    let places = functionals.into_iter().map(place).collect();
    (different, places)
}

/// Steps from draw to draw. Each solved system was kept, or is solved again.
pub(crate) struct Solver<'a> {
    posterior: &'a Posterior,
    solve: Solve<'a>,
    asking: Asking<'a>,
}

impl<'a> Solver<'a> {
    pub(crate) fn new(posterior: &'a Posterior) -> Self {
        let layout = &posterior.layout;
        Self { posterior, solve: Solve::new(layout), asking: Asking::new(layout) }
    }

    /// The solved system at a draw, with the memory to evaluate functionals.
    pub(crate) fn at(&mut self, draw: usize) -> (&Conditional<1>, &mut Asking<'a>) {
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

    /// For each part, its mean and its covariance with the sum.
    fn covariances(&mut self, draw: usize, parts: &[Resolved]) -> Vec<(f64, f64)> {
        let (system, asking) = self.at(draw);
        let mut loaded = Vec::with_capacity(parts.len());
        asking.make_room(parts);
        let mut sum = vec![0.0; asking.c.len()];
        for part in parts {
            let [mean] = asking.load(system, part);
            let c = asking.c.as_flattened().to_vec();
            sum.iter_mut().zip(&c).for_each(|(total, x)| *total += x);
            loaded.push((mean, c));
        }
        (loaded.into_iter().zip(parts))
            .map(|((mean, c), part)| (mean, dot(&c, &sum) + new_variance(&system.squares, part)[0]))
            .collect()
    }
}
