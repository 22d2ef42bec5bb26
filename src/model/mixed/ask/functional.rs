//! Numbers asked of a fit: linear combinations of its unknowns and of effects not yet drawn.

use crate::model::mixed::algebra::layout::Layout;
use crate::model::mixed::{CoefficientId, EffectId, SpreadId};

/// `constant + Σ coefficients + Σ effects + Σ new draws + noise`, each with its multiplier.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Functional {
    /// A known number.
    pub constant: f64,
    /// Coefficients with their multipliers.
    pub coefficients: Vec<(CoefficientId, f64)>,
    /// Effects, their levels and multipliers.
    pub effects: Vec<(EffectId, usize, f64)>,
    /// Spreads of effects never observed (a new group, a new sewing), with their multipliers;
    /// each is a draw of its own.
    pub new: Vec<(SpreadId, f64)>,
    /// A known variance to be added.
    pub variance: f64,
}

/// A functional in solving order.
#[derive(Clone, Debug)]
pub(crate) struct Resolved {
    pub constant: f64,
    pub entries: Vec<(usize, f64)>,
    pub new: Vec<(usize, f64)>,
    pub variance: f64,
    pub from: usize,
}

impl Resolved {
    /// One column by itself, without its mean before the data.
    pub fn column(column: usize) -> Self {
        let entries = vec![(column, 1.0)];
        Self { constant: 0.0, entries, new: Vec::new(), variance: 0.0, from: column }
    }
}

impl Functional {
    /// Adds a multiple of a coefficient.
    #[must_use]
    pub fn plus(mut self, id: CoefficientId, multiplier: f64) -> Self {
        self.coefficients.push((id, multiplier));
        self
    }

    /// Adds a multiple of an effect at a level.
    #[must_use]
    pub fn plus_effect(mut self, id: EffectId, level: usize, multiplier: f64) -> Self {
        self.effects.push((id, level, multiplier));
        self
    }

    /// Adds a multiple of an effect never observed.
    #[must_use]
    pub fn plus_new(mut self, id: SpreadId, multiplier: f64) -> Self {
        self.new.push((id, multiplier));
        self
    }

    /// Adds another functional, whose new draws are not shared with this one's.
    #[must_use]
    pub fn plus_all(mut self, other: &Self) -> Self {
        self.constant += other.constant;
        self.variance += other.variance;
        self.coefficients.extend(&other.coefficients);
        self.effects.extend(&other.effects);
        self.new.extend(&other.new);
        self
    }

    pub(crate) fn resolve(&self, layout: &Layout) -> Resolved {
        let coefficients = self.coefficients.iter().map(|&(id, x)| (layout.coefficient(id), x));
        let effects = self.effects.iter().map(|&(id, level, x)| (layout.effect(id, level), x));
        let entries: Vec<_> = coefficients.chain(effects).collect();
        let from = entries.iter().map(|entry| entry.0).min().unwrap_or(layout.columns.len());
        let new = self.new.iter().map(|&(id, x)| (id.0, x * x)).collect();
        let means: f64 = entries.iter().map(|&(column, x)| x * layout.means[column]).sum();
        Resolved { constant: self.constant + means, entries, new, variance: self.variance, from }
    }
}
