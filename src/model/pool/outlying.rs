//! How far each bench is from the others, and the weight that it gets. docs/model.md, "Benches that
//! do not fit".

use super::between::{BELIEVED_BENCHES, BELIEVED_BETWEEN, Between, believed_precision};
use super::marginal::{Benches, Given, Together};
use super::square::{Root, around, plus};
use super::symmetric::{Column, even, times};
use super::told::Told;
use crate::model::swell::beliefs::{COEFFICIENTS, Square};
use crate::model::variance::chi_squared_quantile;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Share of the pools of sound benches in which some bench has less than full weight.
const RARELY: f64 = 0.001;
/// T is known from few benches, so it is widened by a factor. A variance found from that many
/// values is too small by more than the factor with this probability.
const TOO_SMALL: f64 = 0.01;
/// Factor on the believed variance before anything is known about T. Sound benches may then differ
/// by three times as much as believed, which is the uncertainty of common practice.
const APART: f64 = 9.0;
/// A bench that does not fit is off in one coefficient by about this many deviations of common
/// practice. If two coefficients explain it alike, the one with the smaller change is named.
const ODD: f64 = 3.0;
/// Steps towards the middle of the benches.
const STEPS: usize = 50;

/// A bench compared with the pool of the others.
#[derive(Clone, Debug)]
pub(super) struct Stand {
    /// `(ω − Fμ)ᵀ·(E + FΣFᵀ)⁻¹·(ω − Fμ)`. It is chi-squared, with one degree of freedom for each
    /// direction that the bench informs.
    pub distance: f64,
    pub directions: usize,
    pub chance: f64,
    /// The score of each coefficient, and its variance if the bench fits.
    pub score: Column,
    pub information: Square,
}

impl Stand {
    /// Its weight among this many benches: one, unless it is farther out than a sound bench is
    /// likely to be. Distances are `wider` times as large as they should be.
    pub fn weight(&self, wider: f64, benches: usize) -> f64 {
        match self.directions {
            0 => 1.0,
            directions => weight(self.distance / wider, far(benches, directions)),
        }
    }
}

/// How far out a sound bench is likely to be at most, among this many benches.
pub(super) fn far(benches: usize, directions: usize) -> f64 {
    chi_squared_quantile(1.0 - RARELY / benches.max(1) as f64, directions as f64)
}

/// The weight of a bench at this distance: one up to `far`.
pub(super) fn weight(distance: f64, far: f64) -> f64 {
    if distance > far { (far / distance).powi(2) } else { 1.0 }
}

/// The weights before T is known. Each bench is compared with the middle of the others, as if
/// benches differed three times as much as believed. A few benches cannot move that middle far.
pub(super) fn first_weights(told: &[Told]) -> Option<Vec<f64>> {
    let root = even((APART * BELIEVED_BETWEEN).sqrt());
    let prior = believed_precision();
    let ones = vec![1.0; told.len()];
    let mut all = Benches { told, weights: &ones }.at(&root, &prior)?;
    let mut weights = ones;
    for _ in 0..STEPS {
        let pull = |one: &Given| {
            let (far, typical) = (one.distance(&all.means), one.rows.len() as f64);
            if far > typical { (typical / far).sqrt() } else { 1.0 }
        };
        weights = all.given.iter().map(pull).collect();
        all = Together::of(all.given, &weights, &prior)?;
    }
    let reference = even(APART * BELIEVED_BETWEEN);
    let stands = against_others(Benches { told, weights: &weights }, &all, |_| reference)?;
    let wider = wider_than_that(&stands);
    Some(stands.iter().map(|stand| stand.weight(wider, told.len())).collect())
}

/// How much farther out the median bench is than sound benches are, and at least one. The belief
/// counts as benches that are where they should be.
fn wider_than_that(stands: &[Stand]) -> f64 {
    let middle = |directions: usize| chi_squared_quantile(0.5, directions as f64);
    let some = stands.iter().filter(|stand| stand.directions > 0);
    let mut ratios: Vec<f64> =
        some.map(|stand| stand.distance / middle(stand.directions)).collect();
    ratios.extend([1.0; BELIEVED_BENCHES as usize]);
    ratios.sort_by(f64::total_cmp);
    ratios[ratios.len() / 2].max(1.0)
}

/// Compares every bench with the others, given the pool of all with these weights.
pub(super) fn stands(benches: Benches<'_>, between: &Between) -> Option<Vec<Stand>> {
    let counted: f64 = benches.weights.iter().sum();
    let others = BELIEVED_BENCHES + (counted - 1.0).max(0.0);
    let wider = others / chi_squared_quantile(TOO_SMALL, others);
    let root = between.root.map(|row| row.map(|value| value * wider.sqrt()));
    let all = benches.at(&root, &believed_precision())?;
    let as_found = benches.at(&between.root, &believed_precision())?;
    let found = between.covariance();
    // T without the bench, removed by one step of expectation and maximisation.
    let without = |at: usize| {
        let weight = benches.weights[at];
        let share = weight / (BELIEVED_BENCHES + counted - weight);
        let slope = as_found.given[at].slope(&as_found.means, &as_found.precision);
        let rest = plus(&found, -share, &around(&found, &slope));
        rest.map(|row| row.map(|value| value * wider))
    };
    against_others(benches, &all, without)
}

/// Compares every bench with the means of the others. `apart` is T without the bench.
fn against_others(
    benches: Benches<'_>,
    all: &Together,
    apart: impl Fn(usize) -> Square,
) -> Option<Vec<Stand>> {
    let precision = all.precision.matrix();
    let weighted = times(precision, &all.means);
    let one = |at: usize| {
        let (own, weight) = (&all.given[at], benches.weights[at]);
        let rest = Root::of(plus(precision, -weight, &own.precision()))?;
        let turned = own.turned(&own.found);
        let means = rest.solve(&std::array::from_fn(|i| weighted[i] - weight * turned[i]));
        stand(&benches.told[at], &means, plus(&rest.inverse()?, 1.0, &apart(at)))
    };
    (0..benches.told.len()).map(one).collect()
}

fn stand(told: &Told, means: &Column, covariance: Square) -> Option<Stand> {
    let given = Given::new(told, Root::of(covariance)?.root());
    let directions = told.rows.len();
    let distance = given.distance(means);
    let chance = ChiSquared::new(directions as f64).map_or(1.0, |chi| chi.sf(distance));
    let score = given.turned(&given.residual(means));
    Some(Stand { distance, directions, chance, score, information: given.precision() })
}

/// The coefficients that put a bench far out. One by one, it takes the coefficient that explains
/// most, while what is left would be rare among `looks` benches. Each comes with the change that it
/// needs, and with that in deviations.
pub(super) fn off(stand: &Stand, looks: usize, rare: f64) -> Vec<(usize, f64, f64)> {
    let (mut score, mut information) = (stand.score, stand.information);
    let mut left = stand.distance;
    let mut found: Vec<(usize, f64, f64)> = Vec::new();
    while found.len() < stand.directions {
        let freedom = (stand.directions - found.len()) as f64;
        let chance = ChiSquared::new(freedom).map_or(1.0, |chi| chi.sf(left));
        if chance * looks as f64 >= rare {
            break;
        }
        let told = |i: usize| information[i][i] > 1e-9 * stand.information[i][i];
        let size = |i: usize| score[i] * score[i] / (information[i][i] + ODD.powi(-2));
        let most =
            (0..COEFFICIENTS).filter(|&i| told(i)).max_by(|&i, &j| size(i).total_cmp(&size(j)));
        let Some(at) = most else { break };
        let by = score[at] / information[at][at];
        found.push((at, by, by * information[at][at].sqrt()));
        left -= by * score[at];
        let column = information[at];
        for i in 0..COEFFICIENTS {
            score[i] -= column[i] * by;
            (0..COEFFICIENTS).for_each(|j| information[i][j] -= column[i] * column[j] / column[at]);
        }
    }
    found
}
