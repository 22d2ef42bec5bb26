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

impl Noise {
    /// The variance at the spreads `theta`.
    pub fn at(&self, theta: &[f64]) -> f64 {
        self.known + self.own.iter().map(|&(k, load)| load * theta[k] * theta[k]).sum::<f64>()
    }
}

/// One column of a block: a multiple of one of the block's patterns.
#[derive(Clone, Copy, Debug)]
pub(super) struct BlockColumn {
    pub column: usize,
    pub pattern: usize,
    pub multiplier: f64,
}

/// `system[to] += multiplier·products[from]`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scatter {
    pub to: u32,
    pub from: u32,
    pub multiplier: f64,
}

/// The rows of one level of the blocking factor (or one row without a block).
///
/// Within a block many columns are multiples of each other (of one trial, all that multiply its
/// thread), so the products are formed between the few patterns only. `matrix` is dense, row by
/// row, `width` numbers to a row: the patterns, and the centred target last.
#[derive(Clone, Debug)]
pub(super) struct Block {
    /// Its level of the blocking factor; `None` for a row without one.
    pub level: Option<usize>,
    pub columns: Vec<BlockColumn>,
    /// Where each product of two patterns goes, worked out once.
    pub scatter: Vec<Scatter>,
    pub width: usize,
    pub matrix: Vec<f64>,
    pub noise: Vec<Noise>,
    /// The spreads of the block effects that count in some row of it; the first patterns are
    /// their multipliers.
    pub spreads: Vec<usize>,
}

/// The design in solving order.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub columns: Vec<ColumnSd>,
    pub means: Vec<f64>,
    pub blocks: Vec<Block>,
    pub envelope: Envelope,
    /// The spreads of the block effects.
    pub block_spreads: Vec<usize>,
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
            match &row.block {
                Some((level, _)) => {
                    let at = *level_block.entry(*level).or_insert_with(|| {
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
        let couplings = layout
            .blocks
            .iter()
            .map(|block| block.columns.iter().map(|column| column.column).collect::<Vec<_>>());
        layout.envelope = Envelope::new(layout.columns.len(), couplings);
        for block in &mut layout.blocks {
            block.scatter = scatter_of(block, &layout.envelope);
        }
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
            block_spreads: design.block_spreads.iter().map(|id| id.0).collect(),
            rows: design.rows.len(),
            priors: design.spreads.iter().map(|spread| spread.prior).collect(),
            offsets,
            widths: design.groupings.iter().map(|g| g.effects.len()).collect(),
            coefficient_offset,
        }
    }

    /// The same with every belief `times` as wide; known sds of effects stay as they are.
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

    /// The width of the widest block.
    pub fn widest(&self) -> usize {
        self.blocks.iter().map(|block| block.width).max().unwrap_or(1)
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
        let mut dense = vec![vec![0.0; members.len()]; columns.len()];
        let mut centred: Vec<f64> = members.iter().map(|&index| targets[index]).collect();
        for (row, entries) in entries.iter().enumerate() {
            for &(column, x) in entries {
                let at = columns.binary_search(&column).unwrap_or(0);
                dense[at][row] += x;
                centred[row] -= x * self.means[column];
            }
        }
        let (spreads, loads) = effects_of(design, members);
        let (columns, mut patterns) = patterns_of(&columns, &dense, loads);
        patterns.push(centred);
        let row = |row: usize| patterns.iter().map(move |pattern| pattern[row]);
        let rows = || members.iter().map(|&index| &design.rows[index]);
        Block {
            level: rows().find_map(|row| row.block.as_ref().map(|block| block.0)),
            columns,
            scatter: Vec::new(),
            width: patterns.len(),
            matrix: (0..members.len()).flat_map(row).collect(),
            noise: rows().map(noise_of).collect(),
            spreads,
        }
    }
}

/// The spreads of the block effects that count in some of these rows, and the multipliers of each.
fn effects_of(design: &Design, members: &[usize]) -> (Vec<usize>, Vec<Vec<f64>>) {
    let load = |index: usize, effect: usize| {
        design.rows[index].block.as_ref().map_or(0.0, |(_, loads)| loads[effect])
    };
    (design.block_spreads.iter().enumerate())
        .map(|(effect, spread)| {
            (spread.0, members.iter().map(|&index| load(index, effect)).collect::<Vec<_>>())
        })
        .filter(|(_, loads)| loads.iter().any(|&load| load != 0.0))
        .unzip()
}

/// Every pair of a block's columns, as a place in the system and one in the products.
fn scatter_of(block: &Block, envelope: &Envelope) -> Vec<Scatter> {
    let pair = |to: &BlockColumn, from: &BlockColumn| {
        // Patterns are numbered by their first column, so either may be the larger.
        let (high, low) = (to.pattern.max(from.pattern), to.pattern.min(from.pattern));
        Scatter {
            to: envelope.index(to.column, from.column) as u32,
            from: (high * block.width + low) as u32,
            multiplier: to.multiplier * from.multiplier,
        }
    };
    let columns = block.columns.iter().enumerate();
    columns.flat_map(|(a, to)| block.columns[..=a].iter().map(move |from| pair(to, from))).collect()
}

/// Writes each of a block's columns as a multiple of the first pattern it is proportional to, or
/// as a new one after those that are there.
fn patterns_of(
    columns: &[usize],
    dense: &[Vec<f64>],
    mut patterns: Vec<Vec<f64>>,
) -> (Vec<BlockColumn>, Vec<Vec<f64>>) {
    let mut described = Vec::with_capacity(columns.len());
    for (&column, values) in columns.iter().zip(dense) {
        let found = patterns
            .iter()
            .enumerate()
            .find_map(|(index, pattern)| Some((index, multiple_of(pattern, values)?)));
        let (pattern, multiplier) = found.unwrap_or_else(|| {
            patterns.push(values.clone());
            (patterns.len() - 1, 1.0)
        });
        described.push(BlockColumn { column, pattern, multiplier });
    }
    (described, patterns)
}

/// `m` with `values = m·pattern`, to the last bits of a double.
fn multiple_of(pattern: &[f64], values: &[f64]) -> Option<f64> {
    const LAST_BITS: f64 = 4.0 * f64::EPSILON;
    let at = pattern.iter().position(|&x| x != 0.0)?;
    let m = values[at] / pattern[at];
    let same = |(x, y): (&f64, &f64)| (y - m * x).abs() <= LAST_BITS * y.abs();
    pattern.iter().zip(values).all(same).then_some(m)
}

fn noise_of(row: &Row) -> Noise {
    let own = row.own.iter().map(|&(id, load)| (id.0, load * load)).collect();
    Noise { known: row.variance, own }
}
