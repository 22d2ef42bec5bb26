//! Figures over worlds, with their Monte Carlo errors.

use crate::support::many_benches::Came;
use crate::worlds::Outcome;
use std::cmp::Ordering;

/// A figure and its standard error.
#[derive(Clone, Copy, Debug)]
pub struct Figure {
    pub value: f64,
    pub error: f64,
}

impl Figure {
    /// `of` some worlds. The error comes from leaving out each world in turn (jackknife: Efron and
    /// Stein 1981, Annals of Statistics 9). Benches of one world share its truth and its pool, so
    /// only worlds are independent.
    pub fn over(worlds: &[Outcome], of: impl Fn(&[&Outcome]) -> f64) -> Self {
        let all: Vec<&Outcome> = worlds.iter().collect();
        let without = |out: usize| {
            let kept = all.iter().enumerate().filter(|(place, _)| *place != out);
            of(&kept.map(|(_, world)| *world).collect::<Vec<_>>())
        };
        let each: Vec<f64> = (0..all.len()).map(without).collect();
        let count = each.len() as f64;
        let mean = each.iter().sum::<f64>() / count;
        let squares = each.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
        Self { value: of(&all), error: (squares * (count - 1.0) / count).sqrt() }
    }

    /// The side of `bound` on which it lies, or `None` within two standard errors.
    pub fn beside(self, bound: f64) -> Option<Ordering> {
        let apart = self.value - bound;
        (apart.abs() > 2.0 * self.error).then(|| apart.total_cmp(&0.0))
    }

    pub fn shown(self, decimals: usize) -> String {
        format!("{:.decimals$} ± {:.decimals$}", self.value, self.error)
    }
}

/// The predictions from one start after one number of trials, both as indices.
#[derive(Clone, Copy)]
pub struct At {
    pub start: usize,
    pub trials: usize,
}

impl At {
    /// The mean of a number over all predictions.
    pub fn mean(self, worlds: &[&Outcome], number: impl Fn(&Came) -> f64) -> f64 {
        let came = || worlds.iter().flat_map(|world| &world.starts[self.start].came[self.trials]);
        came().map(number).sum::<f64>() / came().count() as f64
    }

    /// The root mean square of a number over all predictions.
    pub fn root(self, worlds: &[&Outcome], number: impl Fn(&Came) -> f64) -> f64 {
        self.mean(worlds, |came| number(came).powi(2)).sqrt()
    }

    /// How often a range holds, in per cent.
    pub fn held(self, worlds: &[&Outcome], share: impl Fn(&Came) -> f64, level: f64) -> f64 {
        let inside = |came: &Came| f64::from(u8::from((share(came) - 0.5).abs() <= 0.5 * level));
        100.0 * self.mean(worlds, inside)
    }
}
