//! Quantities asked of a fit: linear combinations of its unknowns and of effects not yet drawn.

use crate::algebra::effects::ColumnSd;
use crate::algebra::layout::Layout;
use crate::{CoefficientId, EffectId, SpreadId};

/// `constant + Σ coefficients + Σ effects + Σ new draws + noise`, each with its multiplier.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Functional {
    pub constant: f64,
    /// Coefficients with their multipliers.
    pub coefficients: Vec<(CoefficientId, f64)>,
    /// Effects with their levels and multipliers.
    pub effects: Vec<(EffectId, usize, f64)>,
    /// Spreads of effects never observed (a new group, a new sewing), with their multipliers. Each
    /// is a separate draw.
    pub new: Vec<(SpreadId, f64)>,
    /// A known variance to add.
    pub variance: f64,
}

/// A functional in solving order.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Resolved {
    pub constant: f64,
    /// Columns of the system with their multipliers.
    pub entries: Vec<(usize, f64)>,
    /// Effects without rows.
    pub unseen: Vec<Unseen>,
    pub new: Vec<(usize, f64)>,
    pub variance: f64,
    /// The lowest of the columns.
    pub from: usize,
}

/// An effect without rows, which therefore has no column in the system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Unseen {
    /// Its index among the effects without rows that are asked for together.
    pub place: usize,
    pub sd: ColumnSd,
    pub multiplier: f64,
}

impl Resolved {
    /// A functional of columns and effects without rows, less their means before the data.
    pub fn of(entries: Vec<(usize, f64)>, unseen: Vec<Unseen>, layout: &Layout) -> Self {
        let from = entries.iter().map(|entry| entry.0).min().unwrap_or(layout.columns.len());
        Self { constant: 0.0, entries, unseen, new: Vec::new(), variance: 0.0, from }
    }
}

/// Resolves functionals that are asked together.
pub(crate) fn resolved_together<'a>(
    functionals: impl IntoIterator<Item = &'a Functional>,
    layout: &Layout,
) -> Vec<Resolved> {
    let mut together = Together::new();
    functionals.into_iter().map(|one| one.resolve_with(layout, &mut together)).collect()
}

/// The numbers of the effects without rows in functionals that are asked together. An effect that
/// two functionals share contributes to their covariance.
pub(crate) type Together = Vec<usize>;

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

    /// Adds another functional. Its new draws are not shared with this one's.
    #[must_use]
    pub fn plus_all(mut self, other: &Self) -> Self {
        self.constant += other.constant;
        self.variance += other.variance;
        self.coefficients.extend(&other.coefficients);
        self.effects.extend(&other.effects);
        self.new.extend(&other.new);
        self
    }

    /// Resolves it by itself.
    pub(crate) fn resolve(&self, layout: &Layout) -> Resolved {
        self.resolve_with(layout, &mut Together::new())
    }

    /// Resolves it together with others.
    pub(crate) fn resolve_with(&self, layout: &Layout, together: &mut Together) -> Resolved {
        let coefficients = self.coefficients.iter().map(|&(id, x)| (layout.coefficient(id), x));
        let mut entries: Vec<_> = coefficients.collect();
        let mut unseen = Vec::new();
        for &(id, level, multiplier) in &self.effects {
            let number = layout.effects.number(id, level);
            let effect = layout.effects.at(number);
            match effect.column {
                Some(column) => entries.push((column, multiplier)),
                None => {
                    let known = together.iter().position(|&known| known == number);
                    let place = known.unwrap_or(together.len());
                    if known.is_none() {
                        together.push(number);
                    }
                    unseen.push(Unseen { place, sd: effect.sd, multiplier });
                }
            }
        }
        let means: f64 = entries.iter().map(|&(column, x)| x * layout.means[column]).sum();
        Resolved {
            constant: self.constant + means,
            new: self.new.iter().map(|&(id, x)| (id.0, x * x)).collect(),
            variance: self.variance,
            ..Resolved::of(entries, unseen, layout)
        }
    }
}
