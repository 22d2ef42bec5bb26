//! A design arranged for fast solving: columns in elimination order, rows gathered in blocks.

use super::design::{Design, GroupEffect, Row, SpreadPrior};
use super::envelope::Envelope;
use super::lanes::add_times;
use super::{CoefficientId, EffectId};
use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

/// The standard deviation of a column before the data.
#[derive(Clone, Copy, Debug)]
pub(super) enum ColumnSd {
    Known(f64),
    Spread(usize),
}

/// One column of a block: a multiple of one of the block's patterns.
#[derive(Clone, Copy, Debug)]
pub(super) struct BlockColumn {
    pub column: usize,
    pub pattern: usize,
    pub multiplier: f64,
}

/// Where the parts of a block lie in the layout's tables.
#[derive(Clone, Debug)]
struct Place {
    level: Option<usize>,
    columns: Range<usize>,
    rows: Range<usize>,
    matrix: usize,
    width: usize,
    spreads: Range<usize>,
}

/// The rows of one level of the blocking factor (or one row without a block).
///
/// Within a block many columns are multiples of each other (of one trial, all that multiply its
/// thread), so the products are formed between the few patterns only.
#[derive(Clone, Copy, Debug)]
pub(super) struct Block<'a> {
    /// Its level of the blocking factor; `None` for a row without one.
    pub level: Option<usize>,
    pub columns: &'a [BlockColumn],
    /// Numbers to a row of `matrix`.
    pub width: usize,
    /// Dense, row by row: the patterns, and the centred target last.
    pub matrix: &'a [f64],
    /// The spreads of the block effects that count in some row of it; the first patterns are
    /// their multipliers.
    pub spreads: &'a [usize],
    known: &'a [f64],
    /// Where each row's own effects end in `own`, after where the first row's begin.
    ends: &'a [usize],
    own: &'a [(usize, f64)],
}

impl Block<'_> {
    /// The spreads of a row's own effects, with their squared multipliers.
    pub fn own(&self, row: usize) -> &[(usize, f64)] {
        &self.own[self.ends[row]..self.ends[row + 1]]
    }

    /// The variance of a row's own noise at these squares of the spreads, in every lane.
    pub fn noise<const N: usize>(&self, row: usize, squares: &[[f64; N]]) -> [f64; N] {
        let mut noise = [self.known[row]; N];
        self.own(row).iter().for_each(|&(k, load)| add_times(&mut noise, &squares[k], load));
        noise
    }
}

/// The design in solving order. What belongs to blocks lies in tables one after the other: a long
/// book has a hundred thousand of them.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub columns: Vec<ColumnSd>,
    pub means: Vec<f64>,
    pub envelope: Envelope,
    /// The spreads of the block effects.
    pub block_spreads: Vec<usize>,
    pub rows: usize,
    pub priors: Vec<SpreadPrior>,
    /// The width of the widest block.
    pub widest: usize,
    tables: Arc<Tables>,
    offsets: Vec<usize>,
    widths: Vec<usize>,
    coefficient_offset: usize,
}

/// The blocks.
#[derive(Clone, Debug, Default)]
struct Tables {
    places: Vec<Place>,
    columns: Vec<BlockColumn>,
    matrix: Vec<f64>,
    spreads: Vec<usize>,
    known: Vec<f64>,
    own: Vec<(usize, f64)>,
    ends: Vec<usize>,
}

impl Layout {
    /// Arranges a checked design. Groups with the most levels come first and the coefficients
    /// last, so that the factor stays as sparse as the design.
    pub fn new(design: &Design, targets: &[f64]) -> Self {
        let mut layout = Self::columns_of(design);
        let mut tables = Tables { ends: vec![0], ..Tables::default() };
        for members in members_of(design) {
            layout.add_block(&mut tables, design, targets, &members);
        }
        let couplings = tables
            .places
            .iter()
            .map(|place| tables.columns[place.columns.clone()].iter().map(|column| column.column));
        layout.envelope = Envelope::new(layout.columns.len(), couplings);
        layout.widest = tables.places.iter().map(|place| place.width).max().unwrap_or(1);
        layout.tables = Arc::new(tables);
        layout
    }

    /// Its blocks, in the order in which their levels come first in the design.
    pub fn blocks(&self) -> impl Iterator<Item = Block<'_>> {
        let tables = &*self.tables;
        tables.places.iter().map(|place| Block {
            level: place.level,
            columns: &tables.columns[place.columns.clone()],
            width: place.width,
            matrix: &tables.matrix[place.matrix..place.matrix + place.rows.len() * place.width],
            spreads: &tables.spreads[place.spreads.clone()],
            known: &tables.known[place.rows.clone()],
            ends: &tables.ends[place.rows.start..=place.rows.end],
            own: &tables.own,
        })
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
            widest: 1,
            tables: Arc::default(),
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

    fn add_block(&self, tables: &mut Tables, design: &Design, targets: &[f64], members: &[usize]) {
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
        let first = tables.known.len();
        tables.places.push(Place {
            level: design.rows[members[0]].block.as_ref().map(|block| block.0),
            columns: appended(&mut tables.columns, columns),
            rows: first..first + members.len(),
            matrix: tables.matrix.len(),
            width: patterns.len(),
            spreads: appended(&mut tables.spreads, spreads),
        });
        tables.matrix.extend((0..members.len()).flat_map(row));
        for row in members.iter().map(|&index| &design.rows[index]) {
            tables.known.push(row.variance);
            tables.own.extend(row.own.iter().map(|&(id, load)| (id.0, load * load)));
            tables.ends.push(tables.own.len());
        }
    }
}

/// Puts `items` at the end of a table; gives where they are.
fn appended<T>(table: &mut Vec<T>, items: Vec<T>) -> Range<usize> {
    let from = table.len();
    table.extend(items);
    from..table.len()
}

/// The rows of each block.
fn members_of(design: &Design) -> Vec<Vec<usize>> {
    let mut blocks: Vec<Vec<usize>> = Vec::new();
    let mut level_block = HashMap::new();
    for (index, row) in design.rows.iter().enumerate() {
        let at = match &row.block {
            Some((level, _)) => *level_block.entry(*level).or_insert(blocks.len()),
            None => blocks.len(),
        };
        match blocks.get_mut(at) {
            Some(members) => members.push(index),
            None => blocks.push(vec![index]),
        }
    }
    blocks
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
