//! A design arranged for fast solving: columns in elimination order, rows gathered in blocks.

use super::blocks::{Block, Blocks};
use super::design::{Design, GroupEffect, Row, SpreadPrior};
use super::envelope::Envelope;
use super::kind::BlockColumn;
use crate::model::mixed::{CoefficientId, EffectId};
use std::sync::Arc;

/// The standard deviation of a column before the data.
#[derive(Clone, Copy, Debug)]
pub(crate) enum ColumnSd {
    Known(f64),
    Spread(usize),
}

/// Rows up to which a book is short.
const SHORT: usize = 128;

/// The design in solving order.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub columns: Vec<ColumnSd>,
    pub means: Vec<f64>,
    pub envelope: Envelope,
    /// What the beliefs add to the system, by place in the envelope: Γ⁻¹, with Γ the correlations of
    /// the unknowns before the data, so ones on the diagonal where there are none.
    pub believed: Vec<(usize, f64)>,
    /// `log|Γ|`.
    pub log_correlations: f64,
    /// The spreads of the block effects.
    pub block_spreads: Vec<usize>,
    pub rows: usize,
    pub priors: Vec<SpreadPrior>,
    /// For each spread the levels that say something of it; `None` where they are rows or blocks.
    pub levels: Vec<Option<usize>>,
    /// The columns that differ from each other: of the levels of one spread that have no rows, which
    /// can be thousands of papers, one stands for all.
    pub distinct: Vec<usize>,
    blocks: Arc<Blocks>,
    offsets: Vec<usize>,
    widths: Vec<usize>,
    coefficient_offset: usize,
}

impl Layout {
    /// Arranges a checked design. Groups with the most levels come first and the coefficients
    /// last, so that the factor stays as sparse as the design.
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
        let is_seen = layout.seen();
        layout.levels = layout.levels_seen(&is_seen);
        layout.distinct = layout.differing(&is_seen);
        layout.believe(design, &correlated);
        layout
    }

    /// Puts in what the beliefs add; their correlations were checked.
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

    /// Its blocks, in the order in which their first levels come in the design.
    pub fn blocks(&self) -> impl Iterator<Item = Block<'_>> {
        self.blocks.iter()
    }

    /// Whether there are so few rows that most spreads are known only vaguely.
    pub fn is_vague(&self) -> bool {
        self.rows <= SHORT
    }

    /// The width of the widest block.
    pub fn widest(&self) -> usize {
        self.blocks.widest
    }

    /// For each spread the levels that it is one over and that have rows; `None` where it is one over
    /// rows or blocks. A book has papers and threads that were never sewn, and they say nothing of it.
    fn levels_seen(&self, is_seen: &[bool]) -> Vec<Option<usize>> {
        let mut levels = vec![None; self.priors.len()];
        for (column, is_seen) in self.columns.iter().zip(is_seen) {
            if let ColumnSd::Spread(spread) = column {
                *levels[*spread].get_or_insert(0) += usize::from(*is_seen);
            }
        }
        levels
    }

    /// Whether each column has rows.
    fn seen(&self) -> Vec<bool> {
        let mut is_seen = vec![false; self.columns.len()];
        self.blocks().flat_map(|block| block.columns).for_each(|one| is_seen[one.column] = true);
        is_seen
    }

    fn differing(&self, is_seen: &[bool]) -> Vec<usize> {
        let mut has_unseen = vec![false; self.priors.len()];
        let mut differs = |&column: &usize| {
            is_seen[column]
                || column >= self.coefficient_offset
                || matches!(self.columns[column], ColumnSd::Spread(spread)
                    if !std::mem::replace(&mut has_unseen[spread], true))
        };
        (0..self.columns.len()).filter(|column| differs(column)).collect()
    }

    fn columns_of(design: &Design) -> Self {
        let mut order: Vec<usize> = (0..design.groupings.len()).collect();
        order.sort_by_key(|&g| std::cmp::Reverse(design.groupings[g].levels));
        let mut offsets = vec![0; order.len()];
        let (mut columns, mut means) = (Vec::new(), Vec::new());
        for &g in &order {
            offsets[g] = columns.len();
            for _ in 0..design.groupings[g].levels {
                columns.extend(design.groupings[g].effects.iter().map(|effect| match effect {
                    GroupEffect::Spread(id) => ColumnSd::Spread(id.0),
                    GroupEffect::Known(sd) => ColumnSd::Known(*sd),
                }));
            }
        }
        means.resize(columns.len(), 0.0);
        let coefficient_offset = columns.len();
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
            levels: Vec::new(),
            distinct: Vec::new(),
            offsets,
            widths: design.groupings.iter().map(|g| g.effects.len()).collect(),
            coefficient_offset,
        }
    }

    /// The same with every belief `times` as wide; correlations and known sds of effects stay as
    /// they are.
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

    /// The column of a coefficient.
    pub fn coefficient(&self, id: CoefficientId) -> usize {
        self.coefficient_offset + id.0
    }

    /// The column of an effect at a level.
    pub fn effect(&self, id: EffectId, level: usize) -> usize {
        let grouping = id.grouping.0;
        self.offsets[grouping] + level * self.widths[grouping] + id.effect
    }

    fn entries(&self, row: &Row) -> Vec<(usize, f64)> {
        let coefficients = row.coefficients.iter().map(|&(id, x)| (self.coefficient(id), x));
        let effects = row.effects.iter().map(|&(id, level, x)| (self.effect(id, level), x));
        coefficients.chain(effects).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::mixed::Belief;

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
        // The nine levels come first, then the three that are idle, then the coefficient.
        assert_eq!(layout.distinct, [0, 2, 7, 9, 12]);
    }
}
