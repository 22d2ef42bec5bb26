//! How far each bench is from the others, and what it counts. docs/model.md, "Benches that do not
//! fit".

use super::between::{BELIEVED_BENCHES, Between, believed_precision};
use super::marginal::{Benches, Given};
use super::square::{Root, Vector, around, plus, times, times_turned};
use super::told::Told;
use crate::model::swell::beliefs::{COEFFICIENTS, Square};
use crate::model::variance::chi_squared_quantile;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// In so many pools of sound benches one has a bench that counts for less.
const RARELY: f64 = 0.001;
/// T is known from few benches: it is taken to be larger, by the factor that a variance found from so
/// many values is too small by in one case of so many.
const TOO_SMALL: f64 = 0.01;

/// A bench against the pool of the others.
#[derive(Clone, Debug)]
pub(super) struct Stand {
    /// `(ω − Fμ)ᵀ·(E + FΣFᵀ)⁻¹·(ω − Fμ)`, chi-squared with as many degrees of freedom as it says
    /// something of directions.
    pub distance: f64,
    pub directions: usize,
    pub chance: f64,
    /// The score of each coefficient, and its variance if the bench fits.
    pub score: Vector,
    pub information: Square,
}

impl Stand {
    /// What it counts among so many: one, unless it is farther out than a sound one is likely to be.
    pub fn weight(&self, benches: usize) -> f64 {
        if self.directions == 0 {
            return 1.0;
        }
        let far = chi_squared_quantile(1.0 - RARELY / benches as f64, self.directions as f64);
        if self.distance > far { (far / self.distance).powi(2) } else { 1.0 }
    }
}

/// Every bench against the others, given the pool of all with these weights.
pub(super) fn stands(benches: Benches<'_>, between: &Between) -> Option<Vec<Stand>> {
    let counted: f64 = benches.weights.iter().sum();
    let others = BELIEVED_BENCHES + (counted - 1.0).max(0.0);
    let wider = others / chi_squared_quantile(TOO_SMALL, others);
    let root = between.root.map(|row| row.map(|value| value * wider.sqrt()));
    let all = benches.at(&root, &believed_precision())?;
    let as_found = benches.at(&between.root, &believed_precision())?;
    let precision = times_turned(&all.precision.0, &all.precision.0);
    let weighted = times(&precision, &all.means);
    let found = between.covariance();
    let one = |at: usize| {
        let (told, weight) = (&benches.told[at], benches.weights[at]);
        let own = &all.given[at];
        let rest = Root::of(&plus(&precision, -weight, &own.precision()))?;
        let turned = own.turned(&own.found);
        let means = rest.solve(&std::array::from_fn(|i| weighted[i] - weight * turned[i]));
        let share = weight / (BELIEVED_BENCHES + counted - weight);
        let moved = around(&found, &as_found.given[at].slope(&as_found.means, &as_found.precision));
        let covariance = plus(&rest.inverse(), wider, &plus(&found, -share, &moved));
        stand(told, &means, &covariance)
    };
    (0..benches.told.len()).map(one).collect()
}

fn stand(told: &Told, means: &Vector, covariance: &Square) -> Option<Stand> {
    let given = Given::new(told, &Root::of(covariance)?.0);
    let directions = told.rows.len();
    let distance = given.distance(means);
    let chance = match ChiSquared::new(directions as f64) {
        Ok(chi) => chi.sf(distance),
        Err(_) => 1.0,
    };
    let score = given.turned(&given.residual(means));
    Some(Stand { distance, directions, chance, score, information: given.precision() })
}

/// The coefficients that put a bench far out: one by one the one that accounts for most, while what
/// is left would be rare among so many benches. For each by how much it would have to be another one, and that in
/// deviations.
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
        let size = |i: usize| score[i] * score[i] / information[i][i];
        let most =
            (0..COEFFICIENTS).filter(|&i| told(i)).max_by(|&i, &j| size(i).total_cmp(&size(j)));
        let Some(at) = most else { break };
        let by = score[at] / information[at][at];
        found.push((at, by, by * information[at][at].sqrt()));
        left -= size(at);
        let column = information[at];
        for i in 0..COEFFICIENTS {
            score[i] -= column[i] * by;
            (0..COEFFICIENTS).for_each(|j| information[i][j] -= column[i] * column[j] / column[at]);
        }
    }
    found
}
