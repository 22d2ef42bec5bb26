//! Two spreads that are drawn together, because the data know the sum of their squares best.

use super::moments::{correlation, moments};
use super::of_spread::{Near, OfSpread};
use statrs::distribution::{ContinuousCDF, Normal};
use std::f64::consts::FRAC_PI_2;

/// The greatest correlation of the squares of two spreads that make a ring.
const OPPOSED: f64 = -0.2;
/// The least distance of an angle from both ends of the quarter turn, as a share of it.
const FROM_END: f64 = 1e-12;

/// Two spreads of which one takes what the other leaves. If blocks are measured in one state only,
/// for instance, the data know how much sewings and measurements of states differ together, but
/// hardly the share of each. The two then lie near a quarter of an ellipse. Independent draws would
/// miss it, so its radius and an angle are drawn. A share of the draws comes from the beliefs about
/// both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ring {
    pub of: [usize; 2],
    /// The second spread times this makes the ellipse a circle.
    stretch: f64,
    radius: OfSpread,
    /// Mean and standard deviation of the normal score of the angle, as a share of the quarter
    /// turn. With 0 and 1 every angle is as likely.
    angle: (f64, f64),
    /// The share of draws from the beliefs.
    wide: f64,
}

/// Quantiles at the midpoints of equal shares.
pub(super) struct Tables {
    radius: Vec<f64>,
    angle: Vec<f64>,
    belief: Vec<f64>,
}

impl Ring {
    /// The ring of the two spreads whose squares are opposed most, if any are. `wide` has the share
    /// of each spread's draws from its belief.
    pub fn through(points: &[Vec<f64>], weights: &[f64], wide: &[f64]) -> Option<Self> {
        let squares: Vec<Vec<f64>> =
            points.iter().map(|x| x.iter().map(|x| x * x).collect()).collect();
        let squared = moments(&squares, weights);
        let pairs = (0..wide.len()).flat_map(|second| (0..second).map(move |one| [one, second]));
        let each = pairs.map(|of| (of, correlation(&squares, weights, &squared, of)));
        let (of, opposed) = each.min_by(|one, other| one.1.total_cmp(&other.1))?;
        if opposed > OPPOSED {
            return None;
        }
        let stretch = stretch(of.map(|k| squared[k]), opposed);
        let score = |x: &Vec<f64>| {
            let (radius, angle) = polar(of.map(|k| x[k]), stretch);
            [radius, Normal::standard().inverse_cdf(angle)]
        };
        let scores: Vec<[f64; 2]> = points.iter().map(score).collect();
        let [radius, angle] = [0, 1].map(|k| moments(&scores, weights)[k]);
        let near = Near::of(radius.0, radius.1, true);
        Some(Self {
            of,
            stretch,
            radius: OfSpread { near, skewed: true, wide: 0.0, lean: None },
            angle: (angle.0, angle.1.min(1.0)),
            wide: of.map(|k| wide[k]).into_iter().fold(0.0, f64::max),
        })
    }

    pub fn tables(&self, count: usize) -> Tables {
        let normal = Normal::standard();
        let score = |share: f64| normal.inverse_cdf(share);
        let shares = (0..count).map(|cell| (cell as f64 + 0.5) / count as f64);
        let angle = |share| normal.cdf(self.angle.0 + self.angle.1 * score(share));
        Tables {
            radius: self.radius.quantiles(count),
            angle: shares.clone().map(angle).collect(),
            belief: shares.map(|share| score(0.5 + 0.5 * share)).collect(),
        }
    }

    /// The two spreads at these cells of the tables. `chosen`, from 0 to 1, chooses between the
    /// beliefs and the ring.
    pub fn draw(&self, tables: &Tables, cells: [usize; 2], chosen: f64) -> [f64; 2] {
        if chosen < self.wide {
            return cells.map(|cell| tables.belief[cell]);
        }
        let (radius, angle) = (tables.radius[cells[0]], FRAC_PI_2 * tables.angle[cells[1]]);
        [radius * angle.cos(), radius * angle.sin() / self.stretch]
    }

    /// The joint density of the two spreads of a point.
    pub fn density(&self, x: &[f64]) -> f64 {
        let both = self.of.map(|k| x[k]);
        let (radius, angle) = polar(both, self.stretch);
        let score = Normal::standard().inverse_cdf(angle);
        let off = (score - self.angle.0) / self.angle.1;
        let of_angle = (0.5 * (score * score - off * off)).exp() / self.angle.1 / FRAC_PI_2;
        let of_ring = self.radius.density(radius) * of_angle * self.stretch / radius;
        let of_belief = (-0.5 * both.iter().map(|x| x * x).sum::<f64>()).exp() / FRAC_PI_2;
        (1.0 - self.wide) * of_ring + self.wide * of_belief
    }
}

/// The factor by which the second spread is multiplied so that the sum of the squares varies least
/// for its size, from mean and standard deviation of each square and their correlation.
fn stretch([first, second]: [(f64, f64); 2], correlation: f64) -> f64 {
    // Each row of the inverse covariance times the means.
    let weight = |own: (f64, f64), other: (f64, f64)| {
        other.1 * (own.0 * other.1 - correlation * own.1 * other.0)
    };
    (weight(second, first) / weight(first, second)).sqrt()
}

/// The radius, and the angle as a share of a quarter turn.
fn polar([first, second]: [f64; 2], stretch: f64) -> (f64, f64) {
    let second = stretch * second;
    let angle = second.atan2(first) / FRAC_PI_2;
    (first.hypot(second), angle.clamp(FROM_END, 1.0 - FROM_END))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::proposal::sobol_points;

    const COUNT: usize = 1024;

    /// Points near a quarter of an ellipse, with a third spread that has nothing to do with it.
    fn near_an_ellipse() -> Vec<Vec<f64>> {
        let one = |u: Vec<f64>| {
            let (radius, angle) = (0.5 + 0.1 * u[0], FRAC_PI_2 * u[1]);
            vec![radius * angle.cos(), u[2], 2.0 * radius * angle.sin()]
        };
        sobol_points(COUNT + 1, 3).skip(1).map(one).collect()
    }

    fn ring(points: &[Vec<f64>]) -> Option<Ring> {
        Ring::through(points, &vec![1.0 / points.len() as f64; points.len()], &[0.1, 0.1, 0.1])
    }

    #[test]
    fn the_ring_is_that_of_the_points() {
        let found = ring(&near_an_ellipse()).unwrap();
        assert_eq!(found.of, [0, 2]);
        assert!((found.stretch - 0.5).abs() < 0.01, "{found:?}");
        assert!(found.angle.0.abs() < 0.02 && (found.angle.1 - 1.0).abs() < 0.02, "{found:?}");
    }

    #[test]
    fn spreads_that_do_not_oppose_each_other_make_no_ring() {
        let points: Vec<Vec<f64>> = sobol_points(COUNT + 1, 3).skip(1).collect();
        assert_eq!(ring(&points), None);
    }

    /// The share of the draws in a rectangle is the integral of the density over it (midpoint
    /// rule), and the density integrates to one.
    #[test]
    fn draws_have_the_density_that_weights_divide_by() {
        let mut ring = ring(&near_an_ellipse()).unwrap();
        ring.angle = (0.4, 0.6);
        let tables = ring.tables(COUNT);
        let draw =
            |u: Vec<f64>| ring.draw(&tables, [0, 1].map(|k| (u[k] * COUNT as f64) as usize), u[2]);
        let drawn: Vec<[f64; 2]> = sobol_points(COUNT, 3).map(draw).collect();
        let step = 0.005;
        let at = |cell: usize| (cell as f64 + 0.5) * step;
        let share = |across: usize, up: usize| -> f64 {
            let cells = (0..across).flat_map(|i| (0..up).map(move |j| [at(i), 0.0, at(j)]));
            cells.map(|x| ring.density(&x) * step * step).sum()
        };
        assert!((share(900, 900) - 1.0).abs() < 2e-3, "{}", share(900, 900));
        for (across, up) in [(40, 160), (80, 160), (80, 200), (110, 60)] {
            let (right, top) = (at(across) - 0.5 * step, at(up) - 0.5 * step);
            let inside = drawn.iter().filter(|x| x[0] < right && x[1] < top).count();
            let (found, expected) = (inside as f64 / COUNT as f64, share(across, up));
            assert!((found - expected).abs() < 0.01, "{found} {expected}");
        }
    }
}
