//! Rows gathered in blocks: those of one level of the blocking factor together, and levels that
//! differ in nothing but their targets as one.

use super::design::Design;
use super::lanes::add_times;
use std::collections::HashMap;
use std::ops::Range;

/// What is left of a pivot by rounding alone, as a share of the largest.
const ROUNDING: f64 = 1e-13;

/// One column of a block: a multiple of one of the block's patterns.
#[derive(Clone, Copy, Debug)]
pub(super) struct BlockColumn {
    pub column: usize,
    pub pattern: usize,
    pub multiplier: f64,
}

/// The rows of one level of the blocking factor (or one row without a block), and of all levels
/// that are like it in everything but the targets.
///
/// Within a block many columns are multiples of each other (of one trial, all that multiply its
/// thread), so the products are formed between the few patterns only. Of the targets of `count`
/// levels the likelihood needs their mean and the products of what they differ from it by, which
/// are those of a few columns (their Cholesky factor).
#[derive(Clone, Copy, Debug)]
pub(super) struct Block<'a> {
    pub columns: &'a [BlockColumn],
    /// Numbers to a row of `matrix`.
    pub width: usize,
    /// The place of the mean target in a row: the patterns are before it, what the targets differ
    /// by after it.
    pub target: usize,
    /// Dense, row by row.
    pub matrix: &'a [f64],
    /// The spreads of the block effects that count in some row of it; the first patterns are
    /// their multipliers.
    pub spreads: &'a [usize],
    /// How many levels it stands for.
    pub count: f64,
    levels: &'a [Option<usize>],
    targets: &'a [f64],
    known: &'a [f64],
    /// Where each row's own effects end in `own`, after where the first row's begin.
    ends: &'a [usize],
    own: &'a [(usize, f64)],
}

impl<'a> Block<'a> {
    /// The levels that it stands for (`None`: a row without one), each with its centred targets.
    pub fn levels(&self) -> impl Iterator<Item = (Option<usize>, &'a [f64])> + use<'a> {
        self.levels.iter().copied().zip(self.targets.chunks_exact(self.known.len()))
    }

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

/// Where the parts of a block lie in the tables.
#[derive(Clone, Debug)]
struct Place {
    columns: Range<usize>,
    rows: Range<usize>,
    matrix: Range<usize>,
    target: usize,
    spreads: Range<usize>,
    levels: Range<usize>,
    targets: Range<usize>,
}

/// All blocks, their parts in tables one after the other: a long book has a hundred thousand.
#[derive(Clone, Debug, Default)]
pub(super) struct Blocks {
    places: Vec<Place>,
    columns: Vec<BlockColumn>,
    matrix: Vec<f64>,
    spreads: Vec<usize>,
    known: Vec<f64>,
    own: Vec<(usize, f64)>,
    ends: Vec<usize>,
    levels: Vec<Option<usize>>,
    targets: Vec<f64>,
    /// The width of the widest.
    pub widest: usize,
}

impl Blocks {
    /// The blocks of a design whose rows have these entries (column and multiplier) and centred
    /// targets, in the order in which their first levels come in the design.
    pub fn new(
        design: &Design,
        entries: impl Fn(usize) -> Vec<(usize, f64)>,
        centred: &[f64],
    ) -> Self {
        let mut kinds: Vec<Kind> = Vec::new();
        let mut known = HashMap::new();
        for rows in levels_of(design) {
            let kind = Kind::of(design, &entries, &rows);
            let at = *known.entry(kind.bits()).or_insert(kinds.len());
            if at == kinds.len() {
                kinds.push(kind);
            }
            let level = design.rows[rows[0]].block.as_ref().map(|block| block.0);
            kinds[at].levels.push(level);
            kinds[at].targets.extend(rows.iter().map(|&row| centred[row]));
        }
        let mut blocks = Self { ends: vec![0], widest: 1, ..Self::default() };
        kinds.into_iter().for_each(|kind| blocks.add(kind));
        blocks
    }

    /// Each of them.
    pub fn iter(&self) -> impl Iterator<Item = Block<'_>> {
        self.places.iter().map(|place| Block {
            columns: &self.columns[place.columns.clone()],
            width: place.matrix.len() / place.rows.len(),
            target: place.target,
            matrix: &self.matrix[place.matrix.clone()],
            spreads: &self.spreads[place.spreads.clone()],
            count: place.levels.len() as f64,
            levels: &self.levels[place.levels.clone()],
            targets: &self.targets[place.targets.clone()],
            known: &self.known[place.rows.clone()],
            ends: &self.ends[place.rows.start..=place.rows.end],
            own: &self.own,
        })
    }

    fn add(&mut self, kind: Kind) {
        let (rows, first) = (kind.known.len(), self.known.len());
        let (mean, apart) = moments(&kind.targets, rows);
        let columns = kind.patterns.iter().chain(std::iter::once(&mean)).chain(&apart);
        let columns: Vec<&Vec<f64>> = columns.collect();
        self.widest = self.widest.max(columns.len());
        let matrix = (0..rows).flat_map(|row| columns.iter().map(move |column| column[row]));
        self.places.push(Place {
            rows: first..first + rows,
            matrix: appended(&mut self.matrix, matrix),
            target: kind.patterns.len(),
            columns: appended(&mut self.columns, kind.columns),
            spreads: appended(&mut self.spreads, kind.spreads),
            levels: appended(&mut self.levels, kind.levels),
            targets: appended(&mut self.targets, kind.targets),
        });
        self.known.extend(kind.known);
        for own in kind.own {
            self.own.extend(own);
            self.ends.push(self.own.len());
        }
    }
}

/// What a block is, and the targets of each level that is such a block.
struct Kind {
    columns: Vec<BlockColumn>,
    patterns: Vec<Vec<f64>>,
    spreads: Vec<usize>,
    known: Vec<f64>,
    own: Vec<Vec<(usize, f64)>>,
    levels: Vec<Option<usize>>,
    targets: Vec<f64>,
}

impl Kind {
    fn of(
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

    /// Everything that it is, in bits.
    fn bits(&self) -> Vec<u64> {
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

/// Puts `items` at the end of a table; gives where they are.
fn appended<T>(table: &mut Vec<T>, items: impl IntoIterator<Item = T>) -> Range<usize> {
    let from = table.len();
    table.extend(items);
    from..table.len()
}

/// The rows of each level.
fn levels_of(design: &Design) -> Vec<Vec<usize>> {
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

/// The mean of targets of so many rows each, and columns C whose products `C·Cᵀ` are those of what
/// they differ from it by, summed.
fn moments(targets: &[f64], rows: usize) -> (Vec<f64>, Vec<Vec<f64>>) {
    let levels = || targets.chunks_exact(rows);
    let count = levels().len();
    if count == 1 {
        return (targets.to_vec(), Vec::new());
    }
    let mean: Vec<f64> =
        (0..rows).map(|row| levels().map(|level| level[row]).sum::<f64>() / count as f64).collect();
    let product = |i: usize, j: usize| -> f64 {
        levels().map(|level| (level[i] - mean[i]) * (level[j] - mean[j])).sum()
    };
    let columns = factor(rows, product);
    (mean, columns)
}

/// The columns of the Cholesky factor of a matrix that may be singular; those of nothing are left
/// out.
fn factor(size: usize, of: impl Fn(usize, usize) -> f64) -> Vec<Vec<f64>> {
    let largest = (0..size).map(|i| of(i, i)).fold(0.0, f64::max);
    let mut columns: Vec<Vec<f64>> = Vec::new();
    for j in 0..size {
        let left = |i: usize| of(i, j) - columns.iter().map(|c| c[i] * c[j]).sum::<f64>();
        let pivot = left(j);
        if pivot > ROUNDING * largest {
            let below = |i| if i < j { 0.0 } else { left(i) / pivot.sqrt() };
            columns.push((0..size).map(below).collect());
        }
    }
    columns
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

#[cfg(test)]
mod tests {
    use super::super::conditional::Solve;
    use super::super::layout::Layout;
    use super::super::{Belief, Design, GroupEffect, Row, SpreadPrior};

    /// Twelve blocks of three rows and six rows without a block: of three and two kinds, unless
    /// their variances differ by `apart` of themselves.
    fn layout(apart: f64) -> Layout {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(0.5);
        let [group, block, slope, own] =
            ["group", "block", "slope", "own"].map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let groups = design.grouping(2, vec![GroupEffect::Spread(group)]);
        let effect = design.effect(groups, 0);
        design.block(block);
        design.block(slope);
        let mut targets = Vec::new();
        let mut push = |kind: usize, row: usize, block: Option<usize>| {
            let load = 1.0 + 0.3 * kind as f64 + 0.1 * row as f64;
            let knocked = if row > 0 { load } else { 0.0 };
            design.push(Row {
                variance: (0.02 + 0.01 * row as f64) * (1.0 + apart * targets.len() as f64),
                coefficients: vec![(level, load)],
                effects: vec![(effect, kind % 2, load)],
                own: vec![(own, load)],
                block: block.map(|block| (block, vec![load, knocked])),
            });
            targets.push((2.3 * targets.len() as f64).sin() + load);
        };
        for block in 0..12 {
            (0..3).for_each(|row| push(block % 3, row, Some(block)));
        }
        (0..6).for_each(|at| push(at % 2, 0, None));
        Layout::new(&design, &targets)
    }

    /// What is solved, and the slopes.
    fn solved(layout: &Layout, theta: [f64; 4]) -> Vec<f64> {
        let mut solve = Solve::new(layout);
        let value = solve.at(&theta);
        let slopes = solve.slopes();
        let system = solve.system.factor.iter().chain(&solve.system.mean);
        [value].into_iter().chain(system.chain(&slopes).map(|[number]| *number)).collect()
    }

    #[test]
    fn levels_that_are_alike_are_solved_as_one_and_give_what_each_gives_apart() {
        let (together, apart) = (layout(0.0), layout(1e-14));
        assert_eq!((together.blocks().count(), apart.blocks().count()), (5, 18));
        for theta in [[0.5, 0.3, 0.2, 0.7], [0.05, 1.0, 0.4, 0.0], [0.0, 0.0, 0.0, 0.1]] {
            for (one, other) in solved(&together, theta).iter().zip(solved(&apart, theta)) {
                assert!((one - other).abs() < 1e-10 * (1.0 + other.abs()), "{one} {other}");
            }
        }
        let targets = |layout: &Layout| {
            let levels = layout.blocks().flat_map(|block| block.levels().collect::<Vec<_>>());
            let mut all: Vec<_> = levels.map(|(level, of)| (level, of.to_vec())).collect();
            all.sort_by(|a, b| a.partial_cmp(b).unwrap());
            all
        };
        assert_eq!(targets(&together), targets(&apart), "no target is lost");
    }
}
