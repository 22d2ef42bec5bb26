//! Tests whether the residuals of a fit go with some quantity: tests of slopes. docs/model.md,
//! "What trials left out miss".

use super::beliefs::Beliefs;
use super::error::ModelError;
use super::fit::SwellFit;
use crate::model::mixed::{Belief, ScoreAt, inverse};
use crate::observe::Observations;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Standard deviation of a belief about each slope, which is added for the solve and then removed
/// from the sums.
const BESIDE: f64 = 0.1;
/// Information up to this share of the largest on any column is rounding error.
const ROUNDING: f64 = 1e-9;

/// Slopes of the share on columns of one value per observation, at every draw of the spreads.
#[derive(Clone, Debug)]
pub struct Slopes {
    at: Vec<ScoreAt>,
}

/// By how much the share changes when a column grows by one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    pub change: f64,
    pub sd: f64,
}

impl SwellFit {
    /// The slope on each of `columns`: a term `D·x` in the mean of every observation. `all` and
    /// `beliefs` are those of the fit.
    ///
    /// # Errors
    /// [`ModelError`] for numbers that are not finite.
    pub fn slopes(
        &self,
        all: &Observations,
        beliefs: &Beliefs,
        columns: &[Vec<f64>],
    ) -> Result<Slopes, ModelError> {
        let (_, mut design) = Self::declare(all, beliefs);
        let belief = Belief { mean: 0.0, sd: BESIDE };
        let added: Vec<_> = columns.iter().map(|_| design.coefficient(belief)).collect();
        for (row, observation) in all.rows.iter().enumerate() {
            if observation.state.has_thread() {
                let build_up = all.trials[observation.trial].build_up_mm;
                let terms = added.iter().zip(columns).map(|(&id, x)| (id, build_up * x[row]));
                design.add_terms(row, terms);
            }
        }
        let swells: Vec<f64> = all.rows.iter().map(|row| row.swell_mm).collect();
        Ok(Slopes { at: self.posterior.scores(&design, &swells, &added, BESIDE)? })
    }
}

impl Slopes {
    /// One column's slope, with the others held at 0; `None` if the data say nothing about it.
    pub fn slope(&self, column: usize) -> Option<Slope> {
        let each = self.weighed(&[column])?;
        let (mut change, mut square, mut within) = (0.0, 0.0, 0.0);
        for (weight, at, _) in &each {
            let (score, information) = (at.scores[column], at.information[column][column]);
            let estimate = score / information;
            change += weight * estimate;
            square += weight * estimate * estimate;
            within += weight / information;
        }
        Some(Slope { change, sd: (within + (square - change * change).max(0.0)).sqrt() })
    }

    /// The chance that columns without any slope give scores as far out as these, all taken
    /// together. At each draw it comes from the chi-squared distribution of `sᵀ·I⁻¹·s`. It is
    /// averaged over the spreads as they are known with free slopes. `None` if the data say
    /// nothing.
    pub fn chance(&self, columns: &[usize]) -> Option<f64> {
        let chi = ChiSquared::new(columns.len() as f64).ok()?;
        let each = self.weighed(columns)?;
        Some(each.iter().map(|(weight, _, quadratic)| weight * chi.sf(*quadratic)).sum())
    }

    /// The draws with `sᵀ·I⁻¹·s`, and their weights with the slopes of `columns` free and without a
    /// belief about them: `w·|I|^−½·exp(½·sᵀI⁻¹s)`.
    fn weighed(&self, columns: &[usize]) -> Option<Vec<(f64, &ScoreAt, f64)>> {
        let mut each = Vec::with_capacity(self.at.len());
        for at in &self.at {
            let most = at.information.iter().enumerate().map(|(i, row)| row[i]).fold(0.0, f64::max);
            if columns.iter().any(|&column| at.information[column][column] <= ROUNDING * most) {
                return None;
            }
            let (quadratic, determinant) = quadratic(at, columns)?;
            each.push((at.weight.ln() + 0.5 * (quadratic - determinant), at, quadratic));
        }
        let top = each.iter().map(|one| one.0).fold(f64::NEG_INFINITY, f64::max);
        each.iter_mut().for_each(|one| one.0 = (one.0 - top).exp());
        let sum: f64 = each.iter().map(|one| one.0).sum();
        each.iter_mut().for_each(|one| one.0 /= sum);
        Some(each)
    }
}

/// `sᵀ·I⁻¹·s` of some columns, and `log|I|`.
fn quadratic(at: &ScoreAt, columns: &[usize]) -> Option<(f64, f64)> {
    let (inverse, determinant) =
        inverse(columns.len(), |i, j| at.information[columns[i]][columns[j]])?;
    let scores: Vec<f64> = columns.iter().map(|&column| at.scores[column]).collect();
    let times = |row: &Vec<f64>| row.iter().zip(&scores).map(|(a, s)| a * s).sum::<f64>();
    Some((inverse.iter().zip(&scores).map(|(row, s)| times(row) * s).sum(), determinant))
}

/// Chances adjusted for several looks, after Holm. The smallest is multiplied by their number, the
/// next by one less, and so on. Each is raised to at least the one before. A result under 5 % then
/// occurs by chance in at most 5 % of all cases.
///
/// Source: S. Holm (1979), Scandinavian Journal of Statistics 6, 65–70 (from memory).
pub fn holm(chances: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|&a, &b| chances[a].total_cmp(&chances[b]));
    let (mut adjusted, mut least) = (vec![1.0; chances.len()], 0.0_f64);
    for (rank, at) in order.into_iter().enumerate() {
        least = least.max(chances[at] * (chances.len() - rank) as f64).min(1.0);
        adjusted[at] = least;
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_chances_of_several_looks_are_those_of_holm() {
        // By hand, in order: 4·0.01, 3·0.015, 2·0.03, and 1·0.04, which is raised to the one
        // before.
        let adjusted = holm(&[0.01, 0.04, 0.03, 0.015]);
        for (ours, wanted) in adjusted.iter().zip([0.04, 0.06, 0.06, 0.045]) {
            assert!((ours - wanted).abs() < 1e-12, "{adjusted:?}");
        }
        assert_eq!(holm(&[0.5, 0.9]), [1.0, 1.0]);
        assert!(holm(&[]).is_empty());
    }

    fn at(weight: f64, scores: Vec<f64>, information: Vec<Vec<f64>>) -> ScoreAt {
        ScoreAt { weight, scores, information }
    }

    /// One draw. A score of 4 with information 4 is a slope of 1 ± 0.5, two deviations out, with a
    /// chance of 4.55 %. Two independent slopes of 2 and 1 deviations have Q = 5 and e^−2.5.
    #[test]
    fn a_slope_is_its_score_by_its_information() {
        let information = vec![vec![4.0, 0.0], vec![0.0, 9.0]];
        let slopes = Slopes { at: vec![at(1.0, vec![4.0, 3.0], information)] };
        let slope = slopes.slope(0).unwrap();
        assert!((slope.change - 1.0).abs() < 1e-12 && (slope.sd - 0.5).abs() < 1e-12);
        assert!((slopes.chance(&[0]).unwrap() - 0.045_500_264).abs() < 1e-8);
        assert!((slopes.chance(&[0, 1]).unwrap() - (-2.5_f64).exp()).abs() < 1e-12);
        let nothing =
            Slopes { at: vec![at(1.0, vec![4.0, 0.0], vec![vec![4.0, 0.0], vec![0.0; 2]])] };
        assert_eq!(nothing.chance(&[1]), None);
    }

    /// Draws under which the slope fits better have more weight: `|I|^−½·exp(½·s²/I)`.
    #[test]
    fn the_spreads_are_those_with_the_slope_free() {
        let one = |weight, score, information| at(weight, vec![score], vec![vec![information]]);
        let slopes = Slopes { at: vec![one(0.5, 2.0, 1.0), one(0.5, 1.0, 4.0)] };
        let (a, b) = (2.0_f64.exp(), 0.5 * 0.125_f64.exp());
        let change = (a * 2.0 + b * 0.25) / (a + b);
        assert!((slopes.slope(0).unwrap().change - change).abs() < 1e-12);
    }
}
