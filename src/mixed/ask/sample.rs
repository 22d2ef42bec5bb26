//! Draws from a fit: weighted draws of the spreads, and equally weighted draws of everything.

use super::asking::new_variance;
use super::functional::{Resolved, resolved_together};
use super::project::Solver;
use crate::fit::posterior::Posterior;
use crate::parallel::in_ranges;
use crate::{Functional, SpreadId};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{RngCore, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};

/// One of several equally weighted draws.
#[derive(Clone, Debug, PartialEq)]
pub struct Sampled {
    /// The draw of the spreads that it belongs to, as an index into [`Posterior::weights`].
    pub draw: usize,
    /// The value of each functional, drawn jointly.
    pub values: Vec<f64>,
}

impl Posterior {
    /// The weights of the draws of the spreads. They sum to one.
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    pub fn spread_draws(&self, id: SpreadId) -> Vec<f64> {
        self.theta.iter().map(|theta| theta[id.0]).collect()
    }

    /// `count` equally weighted draws of the functionals. A draw of the spreads is picked by its
    /// weight, and the unknowns are drawn from their Gaussian there, with its covariance. Each row
    /// has its own random numbers, so a seed gives the same rows on any number of cores. With
    /// `A = L·Lᵀ` the unknowns are `û + L⁻ᵀ·z`, z standard normal.
    pub fn sample(&self, functionals: &[Functional], count: usize, seed: u64) -> Vec<Sampled> {
        let asked = resolved_together(functionals, &self.layout);
        let mut sum = 0.0;
        let shares = self.weights.iter().map(|weight| {
            sum += weight;
            sum
        });
        let shares: Vec<f64> = shares.collect();
        let base = Xoshiro256PlusPlus::seed_from_u64(seed).next_u64();
        in_ranges(count, |range| {
            let mut solver = Solver::new(self);
            let row = |row: usize| {
                let mut random = Random::new(base.wrapping_add(row as u64));
                let picked = random.uniform();
                let draw = shares.partition_point(|share| *share < picked).min(shares.len() - 1);
                Sampled { draw, values: solver.sampled(draw, &asked, &mut random) }
            };
            range.map(row).collect()
        })
    }
}

impl Solver<'_> {
    fn sampled(&mut self, draw: usize, asked: &[Resolved], random: &mut Random) -> Vec<f64> {
        let (system, asking) = self.at(draw);
        asking.make_room(asked);
        asking.c.iter_mut().for_each(|z| *z = [random.normal()]);
        asking.backward(system);
        let value = |functional: &Resolved| {
            let known = functional.entries.iter().map(|&(column, multiplier)| {
                let [scale] = system.scale[column];
                multiplier * scale * (system.mean[column][0] + asking.c[column][0])
            });
            let unseen = functional.unseen.iter().map(|one| {
                let ([sd], [z]) =
                    (one.sd.at(&system.squares), asking.c[system.mean.len() + one.place]);
                one.multiplier * sd * z
            });
            let drawn = new_variance(&system.squares, functional)[0].sqrt() * random.normal();
            functional.constant + known.chain(unseen).sum::<f64>() + drawn
        };
        asked.iter().map(value).collect()
    }
}

struct Random(Xoshiro256PlusPlus);

impl Random {
    fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// Strictly between 0 and 1.
    fn uniform(&mut self) -> f64 {
        ((self.0.next_u64() >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
    }

    fn normal(&mut self) -> f64 {
        Normal::standard().inverse_cdf(self.uniform())
    }
}
