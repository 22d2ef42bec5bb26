//! Locates each effect of a design: in the system, or outside it because it has no rows.

use super::design::{Design, GroupEffect};
use crate::EffectId;

/// The standard deviation of an unknown before the data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum ColumnSd {
    Known(f64),
    Spread(usize),
}

impl ColumnSd {
    /// The standard deviation at these squares of the spreads, in every lane.
    pub fn at<const N: usize>(self, squares: &[[f64; N]]) -> [f64; N] {
        match self {
            Self::Known(sd) => [sd; N],
            Self::Spread(spread) => squares[spread].map(f64::sqrt),
        }
    }
}

/// One effect at one level.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Effect {
    pub sd: ColumnSd,
    /// Its column in the system; `None` if it has no rows. It is then independent of everything
    /// else and stays as it is before the data. Of thousands of papers most may never be sewn, and
    /// these cost a fit nothing.
    pub column: Option<usize>,
}

/// The effects of a design at every level, numbered consecutively.
#[derive(Clone, Debug)]
pub(crate) struct Effects {
    each: Vec<Effect>,
    offsets: Vec<usize>,
    widths: Vec<usize>,
}

impl Effects {
    /// The effects of a checked design. Groupings with the most levels come first, which keeps the
    /// factor as sparse as the design.
    pub fn new(design: &Design) -> Self {
        let groupings = &design.groupings;
        let mut order: Vec<usize> = (0..groupings.len()).collect();
        order.sort_by_key(|&g| std::cmp::Reverse(groupings[g].levels));
        let (mut each, mut offsets) = (Vec::new(), vec![0; order.len()]);
        for &g in &order {
            offsets[g] = each.len();
            for _ in 0..groupings[g].levels {
                each.extend(groupings[g].effects.iter().map(|effect| Effect {
                    sd: match effect {
                        GroupEffect::Spread(id) => ColumnSd::Spread(id.0),
                        GroupEffect::Known(sd) => ColumnSd::Known(*sd),
                    },
                    column: None,
                }));
            }
        }
        let widths = groupings.iter().map(|g| g.effects.len()).collect();
        let mut effects = Self { each, offsets, widths };
        effects.see(design);
        effects
    }

    /// Assigns a column to each effect that has rows.
    fn see(&mut self, design: &Design) {
        let mut is_seen = vec![false; self.each.len()];
        for (id, level, _) in design.rows.iter().flat_map(|row| &row.effects) {
            is_seen[self.number(*id, *level)] = true;
        }
        let seen = self.each.iter_mut().zip(is_seen).filter(|(_, is_seen)| *is_seen);
        seen.enumerate().for_each(|(column, (effect, _))| effect.column = Some(column));
    }

    pub fn number(&self, id: EffectId, level: usize) -> usize {
        let grouping = id.grouping.0;
        self.offsets[grouping] + level * self.widths[grouping] + id.effect
    }

    pub fn at(&self, number: usize) -> Effect {
        self.each[number]
    }

    /// All effects, in order of number.
    pub fn iter(&self) -> impl Iterator<Item = &Effect> {
        self.each.iter()
    }
}
