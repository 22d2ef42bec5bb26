//! A design arranged for fast solving: columns in elimination order, rows gathered in blocks.

use super::design::{Design, GroupEffect, Row, SpreadPrior};
use super::envelope::Envelope;
use super::{CoefficientId, EffectId};

/// The standard deviation of a column before the data.
#[derive(Clone, Copy, Debug)]
pub(super) enum ColumnSd {
    Known(f64),
    Spread(usize),
}

/// The noise of one row: a known variance and spreads with squared multipliers.
#[derive(Clone, Debug)]
pub(super) struct Noise {
    pub known: f64,
    pub own: Vec<(usize, f64)>,
}

/// The rows of one level of the blocking factor (or one row without a block).
///
/// `matrix` is dense, row by row, with a column for each of `columns` and the centred target last.
#[derive(Clone, Debug)]
pub(super) struct Block {
    pub columns: Vec<usize>,
    pub matrix: Vec<f64>,
    pub noise: Vec<Noise>,
    /// Multipliers of the block effect; empty where there is none.
    pub loads: Vec<f64>,
}

/// The design in solving order.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub columns: Vec<ColumnSd>,
    pub means: Vec<f64>,
    pub blocks: Vec<Block>,
    pub envelope: Envelope,
    pub block_spread: Option<usize>,
    pub rows: usize,
    pub priors: Vec<SpreadPrior>,
    offsets: Vec<usize>,
    widths: Vec<usize>,
    coefficient_offset: usize,
}

impl Layout {
    /// Arranges a checked design. Groups with the most levels come first and the coefficients
    /// last, so that the factor stays as sparse as the design.
    pub fn new(design: &Design, targets: &[f64]) -> Self {
        let mut layout = Self::columns_of(design);
        let mut blocks: Vec<Vec<usize>> = Vec::new();
        let mut level_block = std::collections::HashMap::new();
        for (index, row) in design.rows.iter().enumerate() {
            match row.block {
                Some((level, _)) => {
                    let at = *level_block.entry(level).or_insert_with(|| {
                        blocks.push(Vec::new());
                        blocks.len() - 1
                    });
                    blocks[at].push(index);
                }
                None => blocks.push(vec![index]),
            }
        }
        layout.blocks =
            blocks.iter().map(|members| layout.block(design, targets, members)).collect();
        let couplings = layout.blocks.iter().map(|block| block.columns.as_slice());
        layout.envelope = Envelope::new(layout.columns.len(), couplings);
        layout
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
            blocks: Vec::new(),
            envelope: Envelope::default(),
            block_spread: design.block_spread.map(|id| id.0),
            rows: design.rows.len(),
            priors: design.spreads.iter().map(|spread| spread.prior).collect(),
            offsets,
            widths: design.groupings.iter().map(|g| g.effects.len()).collect(),
            coefficient_offset,
        }
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

    fn block(&self, design: &Design, targets: &[f64], members: &[usize]) -> Block {
        let entries: Vec<_> =
            members.iter().map(|&index| self.entries(&design.rows[index])).collect();
        let mut columns: Vec<usize> = entries.iter().flatten().map(|entry| entry.0).collect();
        columns.sort_unstable();
        columns.dedup();
        let width = columns.len() + 1;
        let mut matrix = vec![0.0; width * members.len()];
        for ((row, entries), &index) in matrix.chunks_mut(width).zip(&entries).zip(members) {
            let mut centred = targets[index];
            for &(column, x) in entries {
                let at = columns.binary_search(&column).unwrap_or(0);
                row[at] += x;
                centred -= x * self.means[column];
            }
            row[width - 1] = centred;
        }
        let rows = || members.iter().map(|&index| &design.rows[index]);
        let noise = rows().map(noise_of).collect();
        let loads = rows().filter_map(|row| row.block.map(|block| block.1)).collect();
        Block { columns, matrix, noise, loads }
    }
}

fn noise_of(row: &Row) -> Noise {
    let own = row.own.iter().map(|&(id, load)| (id.0, load * load)).collect();
    Noise { known: row.variance, own }
}
