//! A finished fit: weighted draws of the spreads, each with a Gaussian for everything else.

use super::conditional::{Conditional, Solve};
use super::envelope::dot;
use super::functional::Resolved;
use super::integrate::Draws;
use super::lanes::{Lanes, bundles};
use super::layout::Layout;
use super::mode::Mode;
use super::parallel::in_ranges;
use super::{FitRecord, Functional, Mixture, Spread, SpreadId, Summary, weighted_summary};
use std::sync::Arc;

/// What linfa's `Fit` gives: ask it for any [`Functional`].
#[derive(Clone, Debug)]
pub struct Posterior {
    pub(super) layout: Layout,
    spreads: Vec<Spread>,
    pub(super) mode: Vec<f64>,
    mode_log_likelihood: f64,
    pub(super) theta: Vec<Vec<f64>>,
    solved: Option<Vec<Conditional>>,
    pub(super) weights: Arc<[f64]>,
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

/// Mean and standard deviation of a functional at one draw.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moment {
    pub mean: f64,
    pub sd: f64,
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
            record: self.record.clone(),
        }
    }

    /// The log likelihood of a draw's spreads, solved by `solve` where it was not kept.
    pub(super) fn log_likelihood(&self, draw: usize, solve: &mut Solve<'_>) -> f64 {
        match &self.solved {
            Some(solved) => solved[draw].log_likelihood,
            None => solve.at(&self.theta[draw]),
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

    /// A spread's distribution after the data.
    pub fn spread_summary(&self, id: SpreadId) -> Summary {
        let values: Vec<f64> = self.theta.iter().map(|theta| theta[id.0]).collect();
        weighted_summary(&values, &self.weights)
    }

    /// The share of a spread's distribution below `value`: the weight of the draws below it.
    pub fn spread_share_below(&self, id: SpreadId, value: f64) -> f64 {
        let draws = self.theta.iter().zip(self.weights.iter());
        draws.filter(|(theta, _)| theta[id.0] < value).map(|(_, weight)| weight).sum()
    }

    /// The distribution of each functional: a mixture over the draws of the spreads.
    pub fn project(&self, functionals: &[Functional]) -> Vec<Mixture> {
        let resolved: Vec<_> = functionals.iter().map(|f| f.resolve(&self.layout)).collect();
        let bundles = bundles(&resolved);
        let moments = in_ranges(self.theta.len(), |range| {
            let mut solver = Solver::new(self);
            range.flat_map(|draw| solver.moments(draw, &resolved, &bundles)).collect()
        });
        let count = resolved.len();
        let column = |index: usize| moments.iter().skip(index).step_by(count);
        (0..count)
            .map(|index| {
                let means = column(index).map(|moment| moment.mean).collect();
                let sds = column(index).map(|moment| moment.sd).collect();
                Mixture::new(Arc::clone(&self.weights), means, sds)
            })
            .collect()
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
        let moment = |functional| asking.moment(&solve.system, &self.mode, functional);
        resolved.iter().map(moment).map(|moment| (moment.mean, moment.sd)).collect()
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
    lanes: Lanes<'a>,
}

impl<'a> Solver<'a> {
    pub(super) fn new(posterior: &'a Posterior) -> Self {
        let layout = &posterior.layout;
        let (solve, asking) = (Solve::new(layout), Asking::new(layout));
        Self { posterior, solve, asking, lanes: Lanes::new(layout) }
    }

    /// The system at a draw, its spreads, and what asks it: one functional or several.
    pub(super) fn at(
        &mut self,
        draw: usize,
    ) -> (&Conditional, &'a [f64], &mut Asking<'a>, &mut Lanes<'a>) {
        let theta = &self.posterior.theta[draw];
        let system = match &self.posterior.solved {
            Some(solved) => &solved[draw],
            None => {
                self.solve.at(theta);
                &self.solve.system
            }
        };
        (system, theta, &mut self.asking, &mut self.lanes)
    }

    /// The moments of each functional, in the order asked; `bundles` says which go together.
    fn moments(&mut self, draw: usize, asked: &[Resolved], bundles: &[Vec<usize>]) -> Vec<Moment> {
        let (system, theta, asking, lanes) = self.at(draw);
        if let [alone] = asked {
            return vec![asking.moment(system, theta, alone)];
        }
        let mut moments = vec![Moment { mean: f64::NAN, sd: f64::NAN }; asked.len()];
        for bundle in bundles {
            bundle_moments(lanes, (system, theta), asked, bundle, &mut moments);
        }
        moments
    }

    /// For each part its mean and its covariance with the sum.
    fn covariances(&mut self, draw: usize, parts: &[Resolved]) -> Vec<(f64, f64)> {
        let (system, theta, asking, _) = self.at(draw);
        let mut loaded = Vec::with_capacity(parts.len());
        let mut sum = vec![0.0; asking.c.len()];
        for part in parts {
            let mean = asking.load(system, part);
            sum.iter_mut().zip(&asking.c).for_each(|(total, x)| *total += x);
            loaded.push((mean, asking.c.clone()));
        }
        (loaded.into_iter().zip(parts))
            .map(|((mean, c), part)| (mean, dot(&c, &sum) + new_variance(theta, part)))
            .collect()
    }
}

/// Asks functionals of a solved system.
pub(super) struct Asking<'a> {
    pub(super) layout: &'a Layout,
    pub(super) c: Vec<f64>,
}

impl<'a> Asking<'a> {
    pub(super) fn new(layout: &'a Layout) -> Self {
        Self { layout, c: vec![0.0; layout.columns.len()] }
    }

    pub fn moment(&mut self, system: &Conditional, theta: &[f64], functional: &Resolved) -> Moment {
        let mean = self.load(system, functional);
        let variance = dot(&self.c[functional.from..], &self.c[functional.from..]);
        Moment { mean, sd: (variance + new_variance(theta, functional)).sqrt() }
    }

    /// Puts `L⁻¹·c` of the functional in `self.c` and gives the conditional mean.
    pub fn load(&mut self, system: &Conditional, functional: &Resolved) -> f64 {
        self.c.fill(0.0);
        let mut mean = functional.constant;
        for &(column, multiplier) in &functional.entries {
            let scaled = multiplier * system.scale[column];
            self.c[column] += scaled;
            mean += scaled * system.mean[column];
        }
        self.layout.envelope.forward(&system.factor, &mut self.c, functional.from);
        mean
    }
}

/// Writes the moments of the functionals of one bundle.
fn bundle_moments(
    lanes: &mut Lanes<'_>,
    (system, theta): (&Conditional, &[f64]),
    asked: &[Resolved],
    bundle: &[usize],
    moments: &mut [Moment],
) {
    lanes.clear();
    for (lane, &index) in bundle.iter().enumerate() {
        let functional = &asked[index];
        let mut mean = functional.constant;
        for &(column, multiplier) in &functional.entries {
            let scaled = multiplier * system.scale[column];
            lanes.set(lane, column, scaled);
            mean += scaled * system.mean[column];
        }
        moments[index].mean = mean;
    }
    let from = bundle.iter().map(|&index| asked[index].from).min().unwrap_or(0);
    let squares = lanes.squares(&system.factor, from);
    for (&index, variance) in bundle.iter().zip(squares) {
        moments[index].sd = (variance + new_variance(theta, &asked[index])).sqrt();
    }
}

/// The variance of what the functional draws for itself.
pub(super) fn new_variance(theta: &[f64], functional: &Resolved) -> f64 {
    let drawn: f64 = functional.new.iter().map(|&(k, square)| square * theta[k] * theta[k]).sum();
    drawn + functional.variance
}
