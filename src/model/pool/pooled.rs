//! What many benches say together.

use super::between::{BELIEVED_BETWEEN, Between, Pooling, Question};
use super::error::PoolError;
use super::likelihood::{BenchLikelihood, Units};
use super::marginal::Benches;
use super::outlying::{Stand, first_weights, off, stands};
use super::scales::scale;
use super::square::plus;
use super::symmetric::even;
use super::told::Told;
use crate::model::swell::beliefs::{
    Beliefs, COEFFICIENTS, Coefficient, Square, SwellSpread, square,
};
use crate::model::swell::error::ModelError;
use crate::model::swell::slopes::holm;
use std::cmp::Ordering;

/// A bench does not fit if its distance would be this rare among sound benches, with all of them
/// looked at.
const RARE: f64 = 0.05;
/// Most rounds in which weights are worked out again from the pool that they gave.
const ROUNDS: usize = 4;

/// The beliefs about the next bench, after those that were pooled.
#[derive(Clone, Debug, PartialEq)]
pub struct Pooled {
    pub means: [f64; COEFFICIENTS],
    /// Covariance of a new bench's coefficients about those means: how much benches differ, plus
    /// how uncertain the means are.
    pub covariance: Square,
    /// The part of the covariance that is between benches.
    pub between: Square,
    /// Half-normal scale of each spread.
    pub scales: [f64; SwellSpread::ALL.len()],
}

impl Pooled {
    /// A pool without benches: common practice, with the part of it that is taken to be between
    /// benches.
    pub fn common_practice() -> Self {
        let (common, beliefs) = (Common::practice(), Beliefs::default());
        Self {
            means: common.means,
            covariance: common.covariance(&even(1.0)),
            between: common.covariance(&even(BELIEVED_BETWEEN)),
            scales: SwellSpread::ALL.map(|spread| beliefs.scale(spread)),
        }
    }

    /// The pool as starting beliefs of a new book.
    ///
    /// # Errors
    /// [`ModelError::Belief`] if the covariance is not possible.
    pub fn beliefs(&self) -> Result<Beliefs, ModelError> {
        Beliefs::correlated(self.means, &self.covariance, self.scales)
    }
}

/// A coefficient in which a bench is far from the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Off {
    pub coefficient: Coefficient,
    /// How much greater it would have to be at this bench for the rest to fit.
    pub by: f64,
    /// The same in standard deviations of what the others and its own readings leave open.
    pub deviations: f64,
}

/// How a bench fits the others.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchStanding {
    /// Its weight for the coefficients: one, or less if it is far from the others.
    pub weight: f64,
    /// Its weight for the scale of each spread.
    pub spread_weights: [f64; SwellSpread::ALL.len()],
    /// Its squared distance from the pool of the others, in standard deviations.
    pub distance: f64,
    /// The number of directions that its readings inform.
    pub directions: usize,
    /// The chance that a sound bench is this far out, with all benches looked at.
    pub chance: f64,
    /// The coefficients in which it is off; empty if it fits.
    pub off: Vec<Off>,
    /// An earlier bench that says exactly the same. This one then does not count.
    pub twin: Option<usize>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Pool {
    pub pooled: Pooled,
    /// The covariance of the means.
    pub uncertainty: Square,
    /// The restricted log likelihood, up to terms that depend on the readings alone.
    pub log_likelihood: f64,
    /// Every bench, in the order given.
    pub benches: Vec<BenchStanding>,
}

/// Pools benches. Their order does not matter, to the last bit.
///
/// A bench that says exactly what an earlier one says is taken to be the same, and counts once.
///
/// # Errors
/// [`PoolError::Impossible`] for a summary that no readings can have given, [`PoolError::Open`] if
/// restricted maximum likelihood has too few benches, [`PoolError::NoEnd`] if its search does not
/// converge.
pub fn pool(benches: &[BenchLikelihood], how: Pooling) -> Result<Pool, PoolError> {
    let (common, units) =
        (Common::practice(), Units::of(&Beliefs::default()).map_err(|_| PoolError::Open)?);
    let (order, twins) = order(benches);
    let told = |&at: &usize| Told::of(&units.site_of(&benches[at]), at);
    let told: Vec<Told> = order.iter().map(told).collect::<Result<_, _>>()?;
    let (between, weights, standing) = weighed(&told, how)?;
    let (scales, spread_weights) = scales(benches, &order);
    let chances = holm(&standing.iter().map(|one| one.chance).collect::<Vec<_>>());
    let counted = order.len();
    let of_place = |place: usize| {
        let stand = &standing[place];
        let fits = chances[place] >= RARE;
        let found = if fits { Vec::new() } else { off(stand, counted, RARE) };
        let off = found.into_iter().map(|(at, by, deviations)| {
            let by = by * common.sds[at];
            Off { coefficient: Coefficient::ALL[at], by, deviations }
        });
        BenchStanding {
            weight: weights[place],
            spread_weights: spread_weights[place],
            distance: stand.distance,
            directions: stand.directions,
            chance: chances[place],
            off: off.collect(),
            twin: None,
        }
    };
    let mut all: Vec<(usize, BenchStanding)> = Vec::with_capacity(benches.len());
    for (place, &at) in order.iter().enumerate() {
        let own = of_place(place);
        let same = twins.iter().filter(|(_, of)| *of == at);
        all.extend(same.map(|&(twin, of)| (twin, BenchStanding { twin: Some(of), ..own.clone() })));
        all.push((at, own));
    }
    all.sort_by_key(|one| one.0);
    let standing = all.into_iter().map(|one| one.1).collect();
    Ok(finished(&between, &common, scales, standing))
}

/// Common practice. The sums use its standard deviations as units: `c = m + s·z`.
struct Common {
    means: [f64; COEFFICIENTS],
    sds: [f64; COEFFICIENTS],
}

impl Common {
    fn practice() -> Self {
        let beliefs = Beliefs::default();
        Self {
            means: Coefficient::ALL.map(|name| beliefs.coefficient(name).mean),
            sds: Coefficient::ALL.map(|name| beliefs.coefficient(name).sd),
        }
    }

    fn covariance(&self, of_z: &Square) -> Square {
        square(|i, j| of_z[i][j] * (self.sds[i] * self.sds[j]))
    }

    fn coefficients(&self, z: &[f64; COEFFICIENTS]) -> [f64; COEFFICIENTS] {
        std::array::from_fn(|i| self.means[i] + self.sds[i] * z[i])
    }
}

fn finished(
    between: &Between,
    common: &Common,
    scales: [f64; SwellSpread::ALL.len()],
    benches: Vec<BenchStanding>,
) -> Pool {
    let own = between.covariance();
    let pooled = common.sds.iter().zip(between.named).filter(|one| one.1);
    let logs: f64 = pooled.map(|(sd, _)| sd.ln()).sum();
    Pool {
        pooled: Pooled {
            means: common.coefficients(&between.means),
            covariance: common.covariance(&plus(&own, 1.0, &between.uncertainty)),
            between: common.covariance(&own),
            scales,
        },
        uncertainty: common.covariance(&between.uncertainty),
        log_likelihood: between.log_density + logs,
        benches,
    }
}

/// The benches that count, in an order that depends only on what they say. Each of the others comes
/// with the bench that it repeats.
fn order(benches: &[BenchLikelihood]) -> (Vec<usize>, Vec<(usize, usize)>) {
    let mut order: Vec<usize> = (0..benches.len()).collect();
    // The sort is stable: equal benches stay in the order given.
    order.sort_by(|&a, &b| compared(&benches[a], &benches[b]));
    let mut twins = Vec::new();
    let mut kept: Vec<usize> = Vec::new();
    for at in order {
        match kept.last() {
            Some(&before) if compared(&benches[before], &benches[at]) == Ordering::Equal => {
                twins.push((at, before));
            }
            _ => kept.push(at),
        }
    }
    (kept, twins)
}

fn compared(one: &BenchLikelihood, other: &BenchLikelihood) -> Ordering {
    let numbers = |learnt: &BenchLikelihood| {
        let parts = [
            &learnt.weighted[..],
            learnt.information.as_flattened(),
            learnt.spreads.as_flattened(),
        ];
        parts.concat()
    };
    let pairs = numbers(one).into_iter().zip(numbers(other));
    pairs.map(|(a, b)| a.total_cmp(&b)).find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
}

/// The pool of weighted benches, with the weight and the standing of each.
fn weighed(told: &[Told], how: Pooling) -> Result<(Between, Vec<f64>, Vec<Stand>), PoolError> {
    let (rounds, first) = match how {
        Pooling::Reml => (0, vec![1.0; told.len()]),
        Pooling::Regularised => (ROUNDS, first_weights(told).ok_or(PoolError::Open)?),
    };
    let mut weights = first.clone();
    let (mut between, mut standing) = once(told, &weights, how)?;
    for _ in 0..rounds {
        let each = standing.iter().zip(&first);
        let next: Vec<f64> =
            each.map(|(one, first)| one.weight(1.0, told.len()).min(*first)).collect();
        if next == weights {
            break;
        }
        weights = next;
        (between, standing) = once(told, &weights, how)?;
    }
    Ok((between, weights, standing))
}

fn once(told: &[Told], weights: &[f64], how: Pooling) -> Result<(Between, Vec<Stand>), PoolError> {
    let benches = Benches { told, weights };
    let between = Question::new(benches, how).answer()?;
    let standing = stands(benches, &between).ok_or(PoolError::Open)?;
    Ok((between, standing))
}

type Scales = [f64; SwellSpread::ALL.len()];

/// The scale of every spread, and the weights of each bench for them.
fn scales(benches: &[BenchLikelihood], order: &[usize]) -> (Scales, Vec<Scales>) {
    let common = Beliefs::default();
    let mut weights = vec![[1.0; SwellSpread::ALL.len()]; order.len()];
    let scales = SwellSpread::ALL.map(|spread| {
        let tables: Vec<_> =
            order.iter().map(|&at| &benches[at].spreads[spread as usize]).collect();
        let (found, each) = scale(common.scale(spread), &tables);
        weights.iter_mut().zip(each).for_each(|(own, weight)| own[spread as usize] = weight);
        found
    });
    (scales, weights)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_common_practice() {
        let (common, found) = (Beliefs::default(), pool(&[], Pooling::Regularised).unwrap());
        for name in Coefficient::ALL {
            let (belief, at) = (common.coefficient(name), name as usize);
            assert!((found.pooled.means[at] - belief.mean).abs() < 1e-15);
            for other in 0..COEFFICIENTS {
                let wanted = if other == at { belief.sd * belief.sd } else { 0.0 };
                let off = found.pooled.covariance[at][other] - wanted;
                // The search ends within 2·10⁻⁸ of it.
                let sds = belief.sd * common.coefficient(Coefficient::ALL[other]).sd;
                assert!(off.abs() < 1e-7 * sds, "{name:?} {other}: {off:e}");
            }
        }
        assert_eq!(found.pooled.scales, SwellSpread::ALL.map(|spread| common.scale(spread)));
    }
}
