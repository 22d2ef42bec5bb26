//! The distribution that draws of the spreads come from, on Sobol points. Each spread has its own
//! distribution, some depend on another spread, and two may be drawn together.

use super::moments::{correlation, moments};
use super::of_spread::{Lean, Near, OfSpread};
use super::ring::Ring;
use crate::algebra::layout::Layout;
use crate::algebra::logarithms::LogSum;
use crate::parallel::in_ranges;
use sobol::Sobol;
use sobol::params::JoeKuoD6;
use std::f64::consts::FRAC_2_PI;
use std::ops::Range;
use std::sync::LazyLock;

/// The share of a spread's draws that comes from its belief, between these bounds. Nothing that the
/// belief allows is then left to the tails of the other part (a defensive mixture; Hesterberg 1995,
/// Technometrics 37). Spreads are mixed one by one, because one may still be large while the others
/// are known.
///
/// In a short book the share grows with the part of the belief's variance that the data leave. A
/// longer book knows the spreads of many levels sharply, and their share is smaller. However long
/// it is, n levels leave a tail like x⁻ⁿ, while that of the draws is x⁻⁷.
const DEFENSIVE: (f64, f64) = (0.02, 0.2);
/// The variance of the belief, a half-normal.
const OF_BELIEF: f64 = 1.0 - FRAC_2_PI;
const DEFENSIVE_OF_FEW: f64 = 0.05;
const DEFENSIVE_OF_MANY: f64 = 0.001;
/// A spread leans on another if both means are this many standard deviations from zero, and their
/// correlation is this large.
const SHARP: f64 = 5.0;
const TOGETHER: f64 = 0.4;
/// Most levels that count as few.
const FEW_LEVELS: usize = 12;

/// The distribution of the draws: each spread by itself or given one before it, or two together.
#[derive(Clone, Debug)]
pub(crate) struct Proposal {
    each: Vec<OfSpread>,
    /// The least and greatest share of each spread's draws that comes from its belief.
    wide: Vec<(f64, f64)>,
    /// Whether two spreads may be drawn together.
    rings: bool,
    /// The two that are.
    ring: Option<Ring>,
}

impl Proposal {
    /// A proposal with these centres and scales, under the beliefs of a design. Draws come from a
    /// belief only if it is a distribution.
    pub fn new(near: impl Iterator<Item = (f64, f64)>, layout: &Layout) -> Self {
        let wide: Vec<_> = (0..layout.priors.len()).map(|k| defensive(layout, k)).collect();
        let each = near.zip(&wide).enumerate().map(|(k, ((centre, scale), &(least, most)))| {
            let (near, skewed) = (Near::Folded { centre, scale }, is_of_few(layout, k));
            OfSpread { near, skewed, wide: 0.5 * (least + most), lean: None }
        });
        let is_proper = layout.priors.iter().all(|prior| prior.is_proper());
        Self { each: each.collect(), wide, rings: layout.is_vague() && is_proper, ring: None }
    }

    /// Gives each spread's distribution the weighted moments of the points. A sharp spread leans on
    /// the earlier sharp spread with which it is correlated most. In a short book, two spreads may
    /// make a [ring](Ring).
    pub fn follow(&mut self, points: &[Vec<f64>], weights: &[f64]) {
        let moments = moments(points, weights);
        let is_sharp = |k: usize| moments[k].0 >= SHARP * moments[k].1;
        for (k, (one, &(least, most))) in self.each.iter_mut().zip(&self.wide).enumerate() {
            let (mean, sd) = moments[k];
            one.wide = (most * sd * sd / OF_BELIEF).clamp(least, most);
            let others = (0..k).filter(|&on| is_sharp(k) && is_sharp(on));
            let each = others.map(|on| (on, correlation(points, weights, &moments, [k, on])));
            let nearest = each.max_by(|one, other| one.1.abs().total_cmp(&other.1.abs()));
            let nearest = nearest.filter(|(_, correlation)| correlation.abs() >= TOGETHER);
            one.lean = nearest.map(|(on, correlation)| Lean {
                on,
                mean: moments[on].0,
                sd: moments[on].1,
                slope: correlation * sd,
            });
            let left =
                nearest.map_or(1.0, |(_, correlation)| (1.0 - correlation * correlation).sqrt());
            one.near = Near::of(mean, sd * left, one.skewed);
        }
        if self.rings {
            let wide: Vec<f64> = self.each.iter().map(|one| one.wide).collect();
            self.ring = Ring::through(points, weights, &wide);
        }
    }

    /// A copy that draws no two spreads together. What lies on a ring is no longer spread evenly
    /// along each of its two.
    pub fn without_ring(&self) -> Self {
        Self { rings: false, ring: None, ..self.clone() }
    }

    /// A copy that draws each spread independently of the others.
    pub fn independent(&self) -> Self {
        let each = self.each.iter().map(|one| OfSpread { lean: None, ..*one });
        Self { each: each.collect(), ..self.without_ring() }
    }

    /// The points at these positions in the sequence, in units of each spread's scale. There must
    /// be 2^m of them, from the beginning or from a multiple of 2^m on.
    ///
    /// Such Sobol points lie one in each of 2^m equal cells in every dimension. They are moved to
    /// the middles of their cells, so that no point is at zero and the quantiles are a short table.
    pub fn points(&self, which: Range<usize>) -> Vec<Vec<f64>> {
        let count = which.len();
        let tables = in_ranges(self.each.len(), |range| {
            self.each[range].iter().map(|one| one.quantiles(count)).collect()
        });
        let cell = |u: f64| (u * count as f64) as usize;
        let ring = self.ring.map(|ring| (ring, ring.tables(count)));
        let moved = |mut point: Vec<f64>| {
            if let Some((ring, tables)) = &ring {
                let chosen = point.remove(self.each.len());
                let both = ring.draw(tables, ring.of.map(|k| cell(point[k])), chosen);
                ring.of.iter().zip(both).for_each(|(&k, x)| point[k] = x);
            }
            for (k, one) in self.alone() {
                let shift = one.lean.map_or(0.0, |lean| lean.shift(&point));
                point[k] = (tables[k][cell(point[k])] + shift).abs();
            }
            point
        };
        // One more coordinate chooses between the two parts of a ring.
        let dimensions = self.each.len() + usize::from(ring.is_some());
        sobol_points(which.end, dimensions).skip(which.start).map(moved).collect()
    }

    /// The spreads that are not drawn as a ring.
    fn alone(&self) -> impl Iterator<Item = (usize, &OfSpread)> {
        let is_alone = |k: usize| self.ring.is_none_or(|ring| !ring.of.contains(&k));
        self.each.iter().enumerate().filter(move |&(k, _)| is_alone(k))
    }

    pub fn log_density(&self, x: &[f64]) -> f64 {
        let mut sum = LogSum::new();
        self.ring.iter().for_each(|ring| sum.add(&[ring.density(x)]));
        self.alone().for_each(|(k, one)| sum.add(&[one.density_at(k, x)]));
        sum.value()[0]
    }

    /// Log density of all coordinates except `left_out`, of an [independent](Self::independent)
    /// proposal.
    pub fn log_density_without(&self, left_out: usize, x: &[f64]) -> f64 {
        self.log_density(x) - self.each[left_out].density(x[left_out]).ln()
    }
}

/// Whether the book is long and this spread has only few levels.
fn is_of_few(layout: &Layout, spread: usize) -> bool {
    !layout.is_vague() && layout.levels[spread].is_some_and(|levels| levels <= FEW_LEVELS)
}

/// The least and greatest share of a spread's draws that comes from its belief.
fn defensive(layout: &Layout, spread: usize) -> (f64, f64) {
    if !layout.priors[spread].is_proper() {
        return (0.0, 0.0);
    }
    if layout.is_vague() {
        return DEFENSIVE;
    }
    let share = if is_of_few(layout, spread) { DEFENSIVE_OF_FEW } else { DEFENSIVE_OF_MANY };
    (share, share)
}

/// The first `count` Sobol points (direction numbers of Joe and Kuo, 2008).
pub(crate) fn sobol_points(count: usize, dimensions: usize) -> impl Iterator<Item = Vec<f64>> {
    // Unpacking the numbers takes longer than a hundred points.
    static NUMBERS: LazyLock<JoeKuoD6> = LazyLock::new(JoeKuoD6::minimal);
    Sobol::<f64>::new(dimensions, &*NUMBERS).take(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of a reference table, without the header. tests/reference/SOURCE.md names its source.
    fn rows(text: &str) -> Vec<Vec<f64>> {
        let numbers = |line: &str| line.split(',').map(|field| field.parse().unwrap()).collect();
        text.lines().skip(1).map(numbers).collect()
    }

    /// Sobol coordinates are dyadic fractions: nothing is rounded, so they are equal.
    #[test]
    fn sobol_points_are_those_of_another_library() {
        let theirs = rows(include_str!("../../../tests/reference/sobol_scipy.csv"));
        assert_eq!(theirs.len(), 64);
        let ours: Vec<Vec<f64>> = sobol_points(theirs.len(), theirs[0].len()).collect();
        assert_eq!(ours, theirs);
    }

    /// Of two sharp, correlated spreads, the later is drawn given the earlier. The draws have their
    /// correlation, and the density that the weights divide by integrates to one (midpoint rule on
    /// a grid).
    #[test]
    fn sharp_spreads_are_drawn_as_they_go_together() {
        let together = |[a, b]: [f64; 2]| vec![0.4 + 0.04 * a, 0.9 + 0.1 * (0.8 * a + 0.6 * b)];
        let normal = |u: f64| 1.7 * (u / (1.0 - u)).ln() / 3.0;
        let points: Vec<Vec<f64>> =
            sobol_points(257, 2).skip(1).map(|u| together([normal(u[0]), normal(u[1])])).collect();
        let weights = vec![1.0 / 256.0; 256];
        let near = Near::Folded { centre: 0.5, scale: 0.3 };
        let one = OfSpread { near, skewed: false, wide: 0.001, lean: None };
        let wide = vec![(0.001, 0.001); 2];
        let mut proposal = Proposal { each: vec![one; 2], wide, rings: false, ring: None };
        proposal.follow(&points, &weights);
        let drawn = proposal.points(0..1024);
        let even = vec![1.0 / 1024.0; 1024];
        let found = correlation(&drawn, &even, &moments(&drawn, &even), [1, 0]);
        assert!((found - 0.8).abs() < 0.05, "{found}");
        let step = 0.002;
        let at = |i: usize, j: usize| {
            let x = [(i as f64 + 0.5) * step, (j as f64 + 0.5) * step];
            proposal.log_density(&x).exp() * step * step
        };
        let sum: f64 =
            (0..1000).flat_map(|i| (0..1500).map(move |j| (i, j))).map(|(i, j)| at(i, j)).sum();
        // A share of 0.001 of each comes from its belief, which reaches beyond the grid.
        assert!((sum - 1.0).abs() < 2e-3, "{sum}");
        assert!(proposal.independent().each.iter().all(|one| one.lean.is_none()));
    }
}
