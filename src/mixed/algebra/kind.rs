//! Kinds of blocks. Blocks of one kind differ only in their targets.

use super::design::Design;
use std::collections::HashMap;

/// One column of a block: a multiple of one of the block's patterns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BlockColumn {
    pub column: usize,
    pub pattern: usize,
    pub multiplier: f64,
}

/// A kind of block, with the levels of this kind and their targets.
pub(super) struct Kind {
    pub columns: Vec<BlockColumn>,
    pub patterns: Vec<Vec<f64>>,
    pub spreads: Vec<usize>,
    pub known: Vec<f64>,
    pub own: Vec<Vec<(usize, f64)>>,
    pub levels: Vec<Option<usize>>,
    pub targets: Vec<f64>,
}

impl Kind {
    pub fn of(
        design: &Design,
        entries: &impl Fn(usize) -> Vec<(usize, f64)>,
        members: &[usize],
    ) -> Self {
        let entries: Vec<_> = members.iter().map(|&row| entries(row)).collect();
        let mut columns: Vec<usize> = entries.iter().flatten().map(|entry| entry.0).collect();
        columns.sort_unstable();
        columns.dedup();
        let mut dense = vec![vec![0.0; members.len()]; columns.len()];
        for (row, entries) in entries.iter().enumerate() {
            for &(column, x) in entries {
                let at = columns.binary_search(&column).unwrap_or(0);
                dense[at][row] += x;
            }
        }
        let (spreads, loads) = effects_of(design, members);
        let (columns, patterns) = patterns_of(&columns, &dense, loads);
        let rows = || members.iter().map(|&row| &design.rows[row]);
        Self {
            columns,
            patterns,
            spreads,
            known: rows().map(|row| row.variance).collect(),
            own: rows()
                .map(|row| row.own.iter().map(|&(id, load)| (id.0, load * load)).collect())
                .collect(),
            levels: Vec::new(),
            targets: Vec::new(),
        }
    }

    /// The bits of everything except levels and targets, as a key that identifies the kind.
    pub fn bits(&self) -> Vec<u64> {
        let numbers = |of: &[f64]| of.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
        let mut bits = vec![self.columns.len() as u64, self.patterns.len() as u64];
        for one in &self.columns {
            bits.extend([one.column as u64, one.pattern as u64, one.multiplier.to_bits()]);
        }
        bits.extend(self.spreads.iter().map(|&spread| spread as u64));
        bits.extend(numbers(&self.known));
        self.patterns.iter().for_each(|pattern| bits.extend(numbers(pattern)));
        for own in &self.own {
            bits.push(own.len() as u64);
            bits.extend(own.iter().flat_map(|&(spread, load)| [spread as u64, load.to_bits()]));
        }
        bits
    }
}

/// The rows of each level.
pub(super) fn levels_of(design: &Design) -> Vec<Vec<usize>> {
    let mut levels: Vec<Vec<usize>> = Vec::new();
    let mut places = HashMap::new();
    for (index, row) in design.rows.iter().enumerate() {
        let at = match &row.block {
            Some((level, _)) => *places.entry(*level).or_insert(levels.len()),
            None => levels.len(),
        };
        match levels.get_mut(at) {
            Some(rows) => rows.push(index),
            None => levels.push(vec![index]),
        }
    }
    levels
}

/// The spreads of the block effects that are nonzero in some of these rows, with their multipliers.
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

/// Writes each of a block's columns as a multiple of the first pattern that it is proportional to.
/// A column without such a pattern becomes a new one at the end.
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

/// The `m` with `values = m·pattern`, to the last bits of a double; `None` if not proportional.
fn multiple_of(pattern: &[f64], values: &[f64]) -> Option<f64> {
    const LAST_BITS: f64 = 4.0 * f64::EPSILON;
    let at = pattern.iter().position(|&x| x != 0.0)?;
    let m = values[at] / pattern[at];
    let same = |(x, y): (&f64, &f64)| (y - m * x).abs() <= LAST_BITS * y.abs();
    pattern.iter().zip(values).all(same).then_some(m)
}
