//! A design arranged for fast solving: columns in elimination order, rows gathered in blocks.

use super::blocks::{Block, Blocks};
use super::design::{Design, Row, SpreadPrior};
use super::effects::{ColumnSd, Effects};
use super::envelope::Envelope;
use super::kind::BlockColumn;
use crate::CoefficientId;
use std::sync::Arc;

/// Most rows of a short book.
const SHORT: usize = 128;

#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub columns: Vec<ColumnSd>,
    pub means: Vec<f64>,
    pub envelope: Envelope,
    /// What the beliefs add to the system, by envelope index: Γ⁻¹, with Γ the correlations of the
    /// unknowns before the data. Without correlations it has ones on the diagonal.
    pub believed: Vec<(usize, f64)>,
    /// `log|Γ|`.
    pub log_correlations: f64,
    /// The spreads of the block effects.
    pub block_spreads: Vec<usize>,
    pub rows: usize,
    pub priors: Vec<SpreadPrior>,
    /// For each spread, the number of its levels with rows; `None` for a spread of rows or blocks.
    pub levels: Vec<Option<usize>>,
    pub effects: Arc<Effects>,
    blocks: Arc<Blocks>,
    coefficient_offset: usize,
}

impl Layout {
    /// Arranges a checked design: effects with rows first, coefficients last. This keeps the factor
    /// as sparse as the design.
    pub fn new(design: &Design, targets: &[f64]) -> Self {
        let mut layout = Self::columns_of(design);
        let centred = design.rows.iter().zip(targets).map(|(row, target)| {
            let entries = layout.entries(row).into_iter();
            entries.fold(*target, |left, (column, x)| left - x * layout.means[column])
        });
        let centred: Vec<f64> = centred.collect();
        let entries = |row: usize| layout.entries(&design.rows[row]);
        let blocks = Blocks::new(design, entries, &centred);
        let correlated = design.correlations.coefficients();
        let place = |one: &BlockColumn| one.column;
        let seen = blocks.iter().map(|block| block.columns.iter().map(place).collect());
        let believed = correlated.iter().map(|at| layout.coefficient_offset + at).collect();
        let couplings = seen.chain([believed]).map(Vec::into_iter);
        layout.envelope = Envelope::new(layout.columns.len(), couplings);
        layout.blocks = Arc::new(blocks);
        layout.count_levels();
        layout.believe(design, &correlated);
        layout
    }

    /// Adds the beliefs, whose correlations are already checked.
    fn believe(&mut self, design: &Design, correlated: &[usize]) {
        let column = |at: usize| self.coefficient_offset + at;
        let alone = |c: &usize| correlated.iter().all(|&at| column(at) != *c);
        let one = |c: usize| (self.envelope.index(c, c), 1.0);
        self.believed = (0..self.columns.len()).filter(alone).map(one).collect();
        if let Ok((precision, log_determinant)) = design.correlations.precision(correlated) {
            for (row, &to) in correlated.iter().enumerate() {
                for (value, &from) in precision[row].iter().zip(&correlated[..=row]) {
                    self.believed.push((self.envelope.index(column(to), column(from)), *value));
                }
            }
            self.log_correlations = log_determinant;
        }
    }

    /// The blocks, in the order in which their first levels appear in the design.
    pub fn blocks(&self) -> impl Iterator<Item = Block<'_>> {
        self.blocks.iter()
    }

    /// Whether there are so few rows that most spreads are known only vaguely.
    pub fn is_vague(&self) -> bool {
        self.rows <= SHORT
    }

    pub fn widest(&self) -> usize {
        self.blocks.widest
    }

    /// Counts the levels with rows of each spread. Papers and threads that were never sewn say
    /// nothing about their spread.
    fn count_levels(&mut self) {
        for effect in self.effects.iter() {
            if let ColumnSd::Spread(spread) = effect.sd {
                *self.levels[spread].get_or_insert(0) += usize::from(effect.column.is_some());
            }
        }
    }

    fn columns_of(design: &Design) -> Self {
        let effects = Effects::new(design);
        let seen = effects.iter().filter(|effect| effect.column.is_some());
        let mut columns: Vec<ColumnSd> = seen.map(|effect| effect.sd).collect();
        let coefficient_offset = columns.len();
        let mut means = vec![0.0; coefficient_offset];
        for belief in &design.coefficients {
            columns.push(ColumnSd::Known(belief.sd));
            means.push(belief.mean);
        }
        Self {
            columns,
            means,
            envelope: Envelope::default(),
            believed: Vec::new(),
            log_correlations: 0.0,
            blocks: Arc::default(),
            block_spreads: design.block_spreads.iter().map(|id| id.0).collect(),
            rows: design.rows.len(),
            priors: design.spreads.iter().map(|spread| spread.prior).collect(),
            levels: vec![None; design.spreads.len()],
            effects: Arc::new(effects),
            coefficient_offset,
        }
    }

    /// A copy with every belief `times` as wide. Correlations and known sds of effects stay the
    /// same.
    pub fn widened(&self, times: f64) -> Self {
        let mut layout = self.clone();
        for column in &mut layout.columns[self.coefficient_offset..] {
            if let ColumnSd::Known(sd) = column {
                *sd *= times;
            }
        }
        for prior in &mut layout.priors {
            if let SpreadPrior::HalfNormal(scale) = prior {
                *scale *= times;
            }
        }
        layout
    }

    /// Log density of the beliefs at the spreads `theta`, up to a constant.
    pub fn log_prior(&self, theta: &[f64]) -> f64 {
        let each = self.priors.iter().zip(theta);
        each.map(|(prior, theta)| prior.log_density(theta / prior.scale())).sum()
    }

    pub fn coefficient(&self, id: CoefficientId) -> usize {
        self.coefficient_offset + id.0
    }

    fn entries(&self, row: &Row) -> Vec<(usize, f64)> {
        let coefficients = row.coefficients.iter().map(|&(id, x)| (self.coefficient(id), x));
        let effects = row.effects.iter().filter_map(|&(id, level, x)| {
            Some((self.effects.at(self.effects.number(id, level)).column?, x))
        });
        coefficients.chain(effects).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Belief, GroupEffect};

    #[test]
    fn levels_without_a_row_say_nothing_of_their_spread() {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(0.5);
        let [group, idle, own] = ["group", "idle", "own"].map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let groups = design.grouping(9, vec![GroupEffect::Spread(group)]);
        design.grouping(3, vec![GroupEffect::Spread(idle)]);
        let effect = design.effect(groups, 0);
        for at in [2, 7, 2] {
            design.push(Row {
                variance: 0.1,
                coefficients: vec![(level, 1.0)],
                effects: vec![(effect, at, 1.0)],
                own: vec![(own, 1.0)],
                block: None,
            });
        }
        let layout = Layout::new(&design, &[1.0; 3]);
        assert_eq!(layout.levels, [Some(2), Some(0), None]);
        let column = |level| layout.effects.at(layout.effects.number(effect, level)).column;
        assert_eq!([2, 7, 3, 0].map(column), [Some(0), Some(1), None, None]);
        assert_eq!(layout.columns.len(), 3, "those two and the coefficient");
    }
}
