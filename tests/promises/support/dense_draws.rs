//! The slow model conditioned on the observations, at given spreads and over tens of thousands of
//! draws of them.

use crate::support::dense::{Correlations, Linear, SPREADS, Spreads, Terms, at};
use crate::support::dense_readings::Observed;
use crate::support::random_books::Random;
use crate::support::worlds::correlations;
use statrs::distribution::{ContinuousCDF, Normal};

/// Observations and questions, ready for any spreads.
pub struct Conditioned {
    residuals: Vec<f64>,
    noise: Vec<f64>,
    /// Covariance of the observations without noise, row by row.
    covariance: Vec<Vec<Terms>>,
    questions: Vec<Question>,
    /// How many of [`SPREADS`] the book can have.
    spreads: usize,
}

struct Question {
    mean: f64,
    variance: Terms,
    cross: Vec<Terms>,
}

/// What is known at given spreads.
pub struct Known {
    pub log_likelihood: f64,
    /// Mean and variance of every question.
    pub answers: Vec<(f64, f64)>,
}

impl Conditioned {
    /// Under independent beliefs.
    pub fn new(observed: &[Observed], asked: &[Linear], spreads: usize) -> Self {
        Self::believing(&correlations(false), observed, asked, spreads)
    }

    /// Under beliefs with these correlations.
    pub fn believing(
        correlations: &Correlations,
        observed: &[Observed],
        asked: &[Linear],
        spreads: usize,
    ) -> Self {
        let covariance = |one: &Linear, other: &Linear| one.covariance(other, correlations);
        let row = |one: &Observed| {
            observed.iter().map(|other| covariance(&one.expected, &other.expected)).collect()
        };
        let question = |linear: &Linear| Question {
            mean: linear.mean(),
            variance: covariance(linear, linear),
            cross: observed.iter().map(|one| covariance(linear, &one.expected)).collect(),
        };
        Self {
            residuals: observed.iter().map(|one| one.swell - one.expected.mean()).collect(),
            noise: observed.iter().map(|one| one.noise).collect(),
            covariance: observed.iter().map(row).collect(),
            questions: asked.iter().map(question).collect(),
            spreads,
        }
    }

    /// The lower Cholesky factor of the observations' covariance.
    fn factor(&self, spreads: &Spreads) -> Vec<Vec<f64>> {
        let mut factor: Vec<Vec<f64>> = Vec::with_capacity(self.noise.len());
        for (i, row) in self.covariance.iter().enumerate() {
            let mut new: Vec<f64> = row[..=i].iter().map(|terms| at(terms, spreads)).collect();
            new[i] += self.noise[i];
            for j in 0..i {
                new[j] = (new[j] - dot(&new[..j], &factor[j][..j])) / factor[j][j];
            }
            new[i] = (new[i] - dot(&new[..i], &new[..i])).sqrt();
            factor.push(new);
        }
        factor
    }

    pub fn at(&self, spreads: &Spreads) -> Known {
        let factor = self.factor(spreads);
        let whitened = solve(&factor, self.residuals.iter().copied());
        let half_log_determinant: f64 = factor.iter().enumerate().map(|(i, row)| row[i].ln()).sum();
        let constant = 0.5 * factor.len() as f64 * std::f64::consts::TAU.ln();
        let answer = |question: &Question| {
            let cross = solve(&factor, question.cross.iter().map(|terms| at(terms, spreads)));
            let mean = question.mean + dot(&cross, &whitened);
            (mean, at(&question.variance, spreads) - dot(&cross, &cross))
        };
        Known {
            log_likelihood: -0.5 * dot(&whitened, &whitened) - half_log_determinant - constant,
            answers: self.questions.iter().map(answer).collect(),
        }
    }

    /// Logarithm of likelihood × belief about the spreads, up to a constant.
    pub fn log_posterior(&self, spreads: &Spreads) -> f64 {
        self.at(spreads).log_likelihood + self.log_belief(spreads, |k| SPREADS[k].1)
    }

    /// Logarithm of the density of independent half-normals with scales `scale`.
    fn log_belief(&self, spreads: &Spreads, scale: impl Fn(usize) -> f64) -> f64 {
        let one = |k: usize| -0.5 * (spreads[k] / scale(k)).powi(2) - scale(k).ln();
        (0..self.spreads).map(one).sum()
    }

    fn scaled(&self, standard: &Spreads, scale: impl Fn(usize) -> f64) -> Spreads {
        let mut spreads = [0.0; SPREADS.len()];
        for (k, spread) in spreads[..self.spreads].iter_mut().enumerate() {
            *spread = scale(k) * standard[k];
        }
        spreads
    }

    /// Draws from the beliefs, weighted by the likelihood, show where the spreads lie. Then draws
    /// from half-normals of that size get importance weights. A quarter of them come from the
    /// beliefs, so that no weight can be large.
    pub fn draws(&self, seed: u64, count: usize) -> Draws {
        let random = &mut Random::new(seed);
        let belief = |k: usize| SPREADS[k].1;
        let mut first = Draws::default();
        for standard in half_normals(random, count / 10) {
            let spreads = self.scaled(&standard, belief);
            let known = self.at(&spreads);
            first.push(spreads, known.log_likelihood, known);
        }
        first.normalise();
        let sizes: Vec<f64> = (0..self.spreads).map(|k| 1.1 * first.root_mean_square(k)).collect();
        let mut draws = Draws::default();
        for standard in half_normals(random, count) {
            let wide = random.chance(0.25);
            let scale = |k: usize| if wide { belief(k) } else { sizes[k] };
            let spreads = self.scaled(&standard, scale);
            let known = self.at(&spreads);
            let prior = self.log_belief(&spreads, belief);
            let near = (self.log_belief(&spreads, |k| sizes[k]) - prior).exp();
            let weight = known.log_likelihood - (0.25 + 0.75 * near).ln();
            draws.push(spreads, weight, known);
        }
        draws.normalise();
        draws
    }
}

/// Standard half-normal draws, as a Latin hypercube: in every coordinate one draw from each of
/// `count` equal shares, in random order (McKay, Beckman and Conover 1979). Their errors are
/// smaller than with independent draws, and never larger to first order.
fn half_normals(random: &mut Random, count: usize) -> Vec<Spreads> {
    let normal = Normal::new(0.0, 1.0).expect("the standard normal");
    let mut draws = vec![[0.0; SPREADS.len()]; count];
    for k in 0..SPREADS.len() {
        let mut shares: Vec<usize> = (0..count).collect();
        random.shuffle(&mut shares);
        for (draw, share) in draws.iter_mut().zip(shares) {
            let at = (share as f64 + random.uniform()) / count as f64;
            draw[k] = normal.inverse_cdf(0.5 + 0.5 * at);
        }
    }
    draws
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Forward substitution.
fn solve(factor: &[Vec<f64>], right: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut solved: Vec<f64> = Vec::with_capacity(factor.len());
    for (row, value) in factor.iter().zip(right) {
        let i = solved.len();
        solved.push((value - dot(&row[..i], &solved)) / row[i]);
    }
    solved
}

/// Weighted draws of the spreads with the answers at each.
#[derive(Default)]
pub struct Draws {
    pub weights: Vec<f64>,
    spreads: Vec<Spreads>,
    answers: Vec<Vec<(f64, f64)>>,
}

impl Draws {
    fn push(&mut self, spreads: Spreads, log_weight: f64, known: Known) {
        self.weights.push(log_weight);
        self.spreads.push(spreads);
        self.answers.push(known.answers);
    }

    /// Turns logarithms into weights that add up to one.
    fn normalise(&mut self) {
        let top = self.weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        self.weights.iter_mut().for_each(|weight| *weight = (*weight - top).exp());
        let sum: f64 = self.weights.iter().sum();
        self.weights.iter_mut().for_each(|weight| *weight /= sum);
    }

    fn root_mean_square(&self, k: usize) -> f64 {
        let squares = self.spreads.iter().map(|spreads| spreads[k] * spreads[k]);
        squares.zip(&self.weights).map(|(square, weight)| square * weight).sum::<f64>().sqrt()
    }

    pub fn effective(&self) -> f64 {
        1.0 / dot(&self.weights, &self.weights)
    }

    /// The answers to one question: mean and variance at every draw.
    pub fn of_question(&self, question: usize) -> Vec<(f64, f64)> {
        self.answers.iter().map(|answers| answers[question]).collect()
    }

    pub fn of_spread(&self, k: usize) -> Vec<f64> {
        self.spreads.iter().map(|spreads| spreads[k]).collect()
    }

    /// The weighted mean of `values` and its Monte Carlo standard error, `√Σ w²(v − v̄)²`.
    pub fn average(&self, values: &[f64]) -> (f64, f64) {
        let mean = dot(&self.weights, values);
        let squares = values.iter().zip(&self.weights).map(|(v, w)| (w * (v - mean)).powi(2));
        (mean, squares.sum::<f64>().sqrt())
    }
}
