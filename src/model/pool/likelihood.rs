//! What the readings of one bench say about the coefficients and the spreads, without its beliefs.

use super::site::{Site, site};
use super::symmetric::{Column, backward, both_sides, cholesky, forward, times};
use crate::model::mixed::Joint;
use crate::model::swell::beliefs::{
    Beliefs, COEFFICIENTS, Coefficient, Square, SwellSpread, square,
};
use crate::model::swell::error::ModelError;
use crate::model::swell::fit::SwellFit;

/// The spreads at which the log likelihood of each is tabled.
pub const SPREADS_TABLED: [f64; 17] = [
    0.0, 0.005, 0.01, 0.015, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.12, 0.16, 0.20, 0.25,
    0.32, 0.40,
];

/// Log likelihoods of one spread that differ by less than this differ by rounding only.
const FLAT: f64 = 1e-9;
/// The least log likelihood that is tabled. A lower one would say nothing more.
pub(in crate::model) const LEAST: f64 = -1e6;

/// The likelihood of one bench's readings, with its own beliefs divided out.
///
/// As a function of the coefficients c it is approximately `exp(−½·cᵀIc + wᵀc)`, up to a factor. I
/// may be singular, because not every bench has sewn soft paper or two-on.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchLikelihood {
    /// I, positive semidefinite, in the order of [`Coefficient::ALL`](crate::model::Coefficient::ALL).
    pub information: Square,
    /// w, which is I times the estimate where that exists.
    pub weighted: [f64; COEFFICIENTS],
    /// For each spread in the order of [`SwellSpread::ALL`], its log likelihood at
    /// [`SPREADS_TABLED`], less the greatest of them. All zero if the readings say nothing.
    pub spreads: [[f64; SPREADS_TABLED.len()]; SwellSpread::ALL.len()],
}

impl BenchLikelihood {
    /// The likelihood of a bench without readings.
    pub const NOTHING: Self = Self {
        information: [[0.0; COEFFICIENTS]; COEFFICIENTS],
        weighted: [0.0; COEFFICIENTS],
        spreads: [[0.0; SPREADS_TABLED.len()]; SwellSpread::ALL.len()],
    };

    /// What the readings of a fit say. The fit must have been made under `beliefs`.
    ///
    /// With the beliefs N(m₀, B₀) and the fit's mean m and covariance C over all draws of the
    /// spreads, `I = C⁻¹ − B₀⁻¹` and `w = C⁻¹m − B₀⁻¹m₀`. Source: docs/model.md, "What a bench's
    /// readings say".
    pub fn of(fit: &SwellFit, beliefs: &Beliefs) -> Result<Self, ModelError> {
        if fit.posterior.rows() == 0 {
            return Ok(Self::NOTHING);
        }
        let units = Units::of(beliefs)?;
        let draws = fit.posterior.together(&fit.parts.each_coefficient());
        let draws: Vec<_> = draws.iter().map(|draw| units.standard(draw)).collect();
        let site = site(&draws).ok_or_else(|| ModelError::Summary {
            message: "the fit has no draw from which a summary can be made".to_owned(),
        })?;
        let (information, weighted) = units.of_site(&site);
        let spreads = SwellSpread::ALL.map(|spread| of_spread(fit, spread));
        Ok(Self { information, weighted, spreads })
    }
}

fn of_spread(fit: &SwellFit, spread: SwellSpread) -> [f64; SPREADS_TABLED.len()] {
    let none = [0.0; SPREADS_TABLED.len()];
    let Some(id) = fit.parts.spread(spread) else { return none };
    let logs = fit.posterior.spread_log_likelihood(id, &SPREADS_TABLED);
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let bottom = logs.iter().copied().fold(f64::INFINITY, f64::min);
    if top - bottom < FLAT {
        return none;
    }
    std::array::from_fn(|at| (logs[at] - top).max(LEAST))
}

/// The coefficients in units in which the beliefs about them are standard normal:
/// `c = m₀ + s·K·z`, s the standard deviations and K·Kᵀ the correlations.
pub(super) struct Units {
    means: Column,
    sds: Column,
    root: Square,
}

impl Units {
    pub fn of(beliefs: &Beliefs) -> Result<Self, ModelError> {
        let all = Coefficient::ALL;
        let correlations = square(|one, other| beliefs.correlation(all[one], all[other]));
        let root = cholesky(&correlations).ok_or_else(|| ModelError::Belief {
            message: "the correlations of the beliefs are not positive definite".to_owned(),
        })?;
        Ok(Self {
            means: Coefficient::ALL.map(|name| beliefs.coefficient(name).mean),
            sds: Coefficient::ALL.map(|name| beliefs.coefficient(name).sd),
            root,
        })
    }

    /// A draw in these units.
    fn standard(&self, draw: &Joint<COEFFICIENTS>) -> Joint<COEFFICIENTS> {
        let scaled =
            |x: &Column| forward(&self.root, &std::array::from_fn(|at| x[at] / self.sds[at]));
        Joint {
            weight: draw.weight,
            mean: scaled(&std::array::from_fn(|at| draw.mean[at] - self.means[at])),
            covariance: both_sides(&draw.covariance, scaled),
        }
    }

    /// The likelihood of a bench, in these units.
    pub fn site_of(&self, learnt: &BenchLikelihood) -> Site {
        let own = |x: &Column| {
            let scaled: Column = std::array::from_fn(|at| x[at] * self.sds[at]);
            std::array::from_fn(|at| {
                (at..COEFFICIENTS).map(|to| self.root[to][at] * scaled[to]).sum()
            })
        };
        let at_means = times(&learnt.information, &self.means);
        Site {
            information: both_sides(&learnt.information, own),
            weighted: own(&std::array::from_fn(|at| learnt.weighted[at] - at_means[at])),
        }
    }

    /// I and w for the coefficients themselves.
    fn of_site(&self, site: &Site) -> (Square, Column) {
        let back = |x: &Column| {
            let z = backward(&self.root, x);
            std::array::from_fn(|at| z[at] / self.sds[at])
        };
        let information = both_sides(&site.information, back);
        let (own, at_means) = (back(&site.weighted), times(&information, &self.means));
        (information, std::array::from_fn(|at| own[at] + at_means[at]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::pool::symmetric::{Eigen, even, inverse};

    /// Correlated beliefs and a likelihood, combined by their precisions. Dividing out the beliefs
    /// must return the likelihood, also in directions of which it says nothing.
    #[test]
    fn correlated_beliefs_are_divided_out_and_leave_the_likelihood() {
        let common = Beliefs::default();
        let sds = Coefficient::ALL.map(|name| common.coefficient(name).sd);
        let prior = square(|at, to| {
            let apart = at.abs_diff(to) as f64;
            sds[at] * sds[to] * (-0.7 * apart).exp() * if apart == 1.0 { -1.0 } else { 1.0 }
        });
        let means = Coefficient::ALL.map(|name| common.coefficient(name).mean);
        let beliefs = Beliefs::correlated(means, &prior, [0.05; 7]).unwrap();
        // Two rows of a design, so the rank is two.
        let rows: [Column; 2] = [
            std::array::from_fn(|at| if at % 2 == 0 { 9.0 } else { 0.0 }),
            std::array::from_fn(|at| if at < 4 { 20.0 * at as f64 } else { 1.0 }),
        ];
        let information = square(|at, to| rows.iter().map(|row| row[at] * row[to]).sum());
        let weighted = times(&information, &means.map(|mean| mean + 0.05));
        let (precision, _) = inverse(&prior).unwrap();
        let both = square(|at, to| precision[at][to] + information[at][to]);
        let (covariance, _) = inverse(&both).unwrap();
        let believed = times(&precision, &means);
        let mean = times(&covariance, &std::array::from_fn(|at| believed[at] + weighted[at]));
        let units = Units::of(&beliefs).unwrap();
        let draw = units.standard(&Joint { weight: 1.0, mean, covariance });
        let site = site(&[draw]).unwrap();
        let (found, found_weighted) = units.of_site(&site);
        for at in 0..COEFFICIENTS {
            for to in 0..COEFFICIENTS {
                let size = (information[at][at] * information[to][to]).sqrt();
                let off = found[at][to] - information[at][to];
                assert!(off.abs() < 1e-9 * size.max(1.0), "{at} {to}: {off}");
            }
            let off = found_weighted[at] - weighted[at];
            assert!(off.abs() < 1e-9 * weighted[at].abs().max(1.0), "{at}: {off}");
        }
        // The precisions above are rounded to nine digits and more.
        let told =
            Eigen::of(&site.information).values.iter().filter(|value| **value > 1e-7).count();
        assert_eq!(told, 2, "no direction is made up");
        let learnt = BenchLikelihood { information, weighted, ..BenchLikelihood::NOTHING };
        let back = units.site_of(&learnt);
        let close = |x: &[f64], y: &[f64]| {
            x.iter().zip(y).all(|(x, y)| (x - y).abs() < 1e-8 * (1.0 + y.abs()))
        };
        assert!(close(back.information.as_flattened(), site.information.as_flattened()));
        assert!(close(&back.weighted, &site.weighted));
    }

    /// A mixture of two draws, moved by hand to beliefs half as wide again. In one direction, a
    /// draw with mean m and variance v has the likelihood `exp(−½·iz² + wz)`, i = 1/v − 1 and w =
    /// m/v. Under N(0, b) its variance is 1/(i + 1/b), and its weight changes by the ratio of
    /// `√(var/b)·exp(½·w²·var)`.
    #[test]
    fn draws_are_weighted_for_wider_beliefs() {
        let (b, draws) = (2.25, [(0.3_f64, 0.2_f64, 0.5_f64), (0.7, 0.9, 0.1)]);
        let moved = draws.map(|(weight, mean, variance)| {
            let (i, w) = (variance.recip() - 1.0, mean / variance);
            let to = |b: f64| {
                let variance = (i + b.recip()).recip();
                (variance, (variance / b).sqrt() * (0.5 * w * w * variance).exp())
            };
            let ((wide, now), (_, before)) = (to(b), to(1.0));
            (weight * now / before, w * wide, wide)
        });
        let sum: f64 = moved.iter().map(|one| one.0).sum();
        let mean: f64 = moved.iter().map(|one| one.0 * one.1).sum::<f64>() / sum;
        let square = |one: &(f64, f64, f64)| one.0 * (one.2 + (one.1 - mean).powi(2));
        let variance = moved.iter().map(square).sum::<f64>() / sum;
        let site = site(&draws.map(|(w, m, v)| draw(w, m, v.sqrt()))).unwrap();
        let information = variance.recip() - b.recip();
        assert!((site.information[0][0] - information).abs() < 1e-12, "{site:?}");
        assert!((site.weighted[0] - mean / variance).abs() < 1e-12, "{site:?}");
    }

    /// A draw that says something in one direction only.
    fn draw(weight: f64, mean: f64, sd: f64) -> Joint<COEFFICIENTS> {
        let mut draw = Joint { weight, mean: [0.0; COEFFICIENTS], covariance: even(1.0) };
        draw.mean[0] = mean;
        draw.covariance[0][0] = sd * sd;
        draw
    }

    /// Two draws, one of them far out under narrow beliefs. The mixture is wider than the beliefs,
    /// so no likelihood has its moments. Under wider beliefs one has, and it keeps where the
    /// readings point.
    #[test]
    fn readings_that_contradict_the_beliefs_are_matched_under_wider_ones() {
        let found = site(&[draw(0.6, 0.3, 0.95), draw(0.4, 2.6, 0.5)]).unwrap();
        assert!(found.information[0][0] > 0.0 && found.weighted[0] > 0.3, "{found:?}");
        assert!(found.information[1][1] == 0.0 && found.weighted[1] == 0.0);
        let sound = site(&[draw(1.0, 0.4, 0.5)]).unwrap();
        assert!((sound.information[0][0] - 3.0).abs() < 1e-12, "{sound:?}");
        assert!((sound.weighted[0] - 1.6).abs() < 1e-12, "{sound:?}");
    }
}
