//! Minimises a smooth function whose slopes are exact.

use super::envelope::dot;

/// Most halvings of one step.
const MAX_HALVINGS: usize = 30;
/// The search ends when the slopes promise less than this times `1 + |value|/100`.
const SETTLED: f64 = 1e-15;
/// Bound on the rounding of a value, as a share of its size.
const ROUNDING: f64 = 1e-9;
/// The share of the gain promised by the slope that a step must achieve (Armijo's rule).
const KEPT: f64 = 1e-4;
/// The largest share of the slope along a step that may remain after it.
const LEFT: f64 = 0.9;
/// Greatest length of the first step.
const FIRST_STEP: f64 = 0.5;

/// A smooth function of several numbers, and its slopes. Where it is undefined its value is very
/// large.
pub trait Sloped {
    fn value(&self, x: &[f64]) -> f64;
    /// Derivative with respect to each number.
    fn slopes(&self, x: &[f64]) -> Vec<f64>;
    /// The inverse of approximate second derivatives at the start, if known.
    fn bends(&self, _start: &[f64]) -> Option<Vec<Vec<f64>>> {
        None
    }
}

/// How a search ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Descent {
    pub x: Vec<f64>,
    /// The reason why it stopped.
    pub stopped: &'static str,
    /// Whether the slopes promise nothing more, or only less than rounding hides.
    pub settled: bool,
}

/// Minimises by the quasi-Newton method of Broyden, Fletcher, Goldfarb and Shanno, with halved
/// steps. Source: Nocedal and Wright (2006), "Numerical Optimization", algorithm 6.1.
///
/// The search ends by what the slopes still promise, because they are exact. Near the end the
/// values differ by rounding only. There a step is judged by the slopes too, by the approximate
/// rule of Wolfe (Hager and Zhang 2005, SIAM Journal on Optimization 16).
pub fn descend(objective: &impl Sloped, mut x: Vec<f64>, most_steps: usize) -> Descent {
    let ended = |x, stopped, settled| Descent { x, stopped, settled };
    if x.is_empty() {
        return ended(x, "there are no spreads to find", true);
    }
    let (mut value, mut slopes) = (objective.value(&x), objective.slopes(&x));
    let steepest = dot(&slopes, &slopes).sqrt();
    let known = objective.bends(&x).map(Curvature);
    let guessed = known.is_none();
    let mut inverse =
        known.unwrap_or_else(|| Curvature::even(FIRST_STEP / steepest.max(FIRST_STEP), x.len()));
    for step in 0..most_steps {
        let direction = inverse.times(&slopes);
        let promised = dot(&slopes, &direction);
        if 0.5 * promised < SETTLED * (1.0 + value.abs() / 100.0) {
            return ended(x, "the slopes promise nothing more", true);
        }
        let at = |share: f64| -> Vec<f64> {
            x.iter().zip(&direction).map(|(x, d)| x - share * d).collect()
        };
        let enough = |share: f64| {
            let next = at(share);
            let found = objective.value(&next);
            let flat = || dot(&objective.slopes(&next), &direction).abs() <= LEFT * promised;
            found <= value - KEPT * share * promised
                || (found <= value + ROUNDING * (1.0 + value.abs()) && flat())
        };
        let shares = (0..MAX_HALVINGS).map(|halvings| 0.5_f64.powi(halvings as i32));
        let Some(share) = shares.into_iter().find(|&share| enough(share)) else {
            let hidden = promised < ROUNDING * (1.0 + value.abs());
            return ended(x, "no shorter step gains anything", hidden);
        };
        let next = at(share);
        let found = objective.slopes(&next);
        let moved: Vec<f64> = next.iter().zip(&x).map(|(to, from)| to - from).collect();
        let bent: Vec<f64> = found.iter().zip(&slopes).map(|(to, from)| to - from).collect();
        inverse.learn(&moved, &bent, guessed && step == 0);
        (value, slopes, x) = (objective.value(&next), found, next);
    }
    ended(x, "the steps ran out", false)
}

/// The inverse of the matrix of second derivatives, as far as the steps have revealed it.
struct Curvature(Vec<Vec<f64>>);

impl Curvature {
    /// A multiple of the identity.
    fn even(scale: f64, size: usize) -> Self {
        let row = |i| (0..size).map(|j| if i == j { scale } else { 0.0 }).collect();
        Self((0..size).map(row).collect())
    }

    fn times(&self, slopes: &[f64]) -> Vec<f64> {
        self.0.iter().map(|row| dot(row, slopes)).collect()
    }

    /// Updates with a step `moved` over which the slopes changed by `bent`, if that was convex.
    fn learn(&mut self, moved: &[f64], bent: &[f64], first: bool) {
        let along = dot(moved, bent);
        if along <= 1e-10 * dot(moved, moved) {
            return;
        }
        if first {
            *self = Self::even(along / dot(bent, bent), moved.len());
        }
        let through = self.times(bent);
        let both = 1.0 + dot(bent, &through) / along;
        for (i, row) in self.0.iter_mut().enumerate() {
            for (j, value) in row.iter_mut().enumerate() {
                let cross = moved[i] * through[j] + through[i] * moved[j];
                *value += (both * moved[i] * moved[j] - cross) / along;
            }
        }
    }
}
