//! Rows grouped into blocks. A block holds the rows of one level of the blocking factor. Levels
//! that differ only in their targets share a block.

use super::design::Design;
use super::kind::{BlockColumn, Kind, levels_of};
use super::lanes::add_times;
use std::collections::HashMap;
use std::ops::Range;

/// A pivot up to this share of the largest diagonal element is rounding error.
const ROUNDING: f64 = 1e-13;

/// The rows of one level of the blocking factor, or one row without a block. It also covers all
/// levels that are equal to it in everything but the targets.
///
/// Within a block many columns are multiples of each other (for one trial, all that multiply its
/// thread). So products are formed only between the few distinct patterns. Of the targets of
/// `count` levels, the likelihood needs the mean and the summed products of their deviations from
/// it. The columns of the Cholesky factor of these sums have the same products and are few.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Block<'a> {
    pub columns: &'a [BlockColumn],
    /// Numbers per row of `matrix`.
    pub width: usize,
    /// Index of the mean target in a row. The patterns come before it, the deviations of the
    /// targets after it.
    pub target: usize,
    /// Dense, row by row.
    pub matrix: &'a [f64],
    /// The spreads of the block effects with a nonzero multiplier in some row. The first patterns
    /// are their multipliers.
    pub spreads: &'a [usize],
    /// Number of levels that it covers.
    pub count: f64,
    levels: &'a [Option<usize>],
    targets: &'a [f64],
    known: &'a [f64],
    /// Where each row's own effects end in `own`, preceded by where those of the first row begin.
    ends: &'a [usize],
    own: &'a [(usize, f64)],
}

impl<'a> Block<'a> {
    /// The levels that it covers (`None` for a row without one), each with its centred targets.
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

/// Where the parts of a block lie in the tables of `Blocks`.
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

/// All blocks. Their parts lie in shared tables, because a long book has a hundred thousand blocks.
#[derive(Clone, Debug, Default)]
pub(crate) struct Blocks {
    places: Vec<Place>,
    columns: Vec<BlockColumn>,
    matrix: Vec<f64>,
    spreads: Vec<usize>,
    known: Vec<f64>,
    own: Vec<(usize, f64)>,
    ends: Vec<usize>,
    levels: Vec<Option<usize>>,
    targets: Vec<f64>,
    /// Width of the widest block.
    pub widest: usize,
}

impl Blocks {
    /// The blocks of a design. `entries` gives the columns and multipliers of a row, `centred` the
    /// centred targets. Blocks come in the order in which their first levels appear in the design.
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

/// Appends `items` to a table and returns their range.
fn appended<T>(table: &mut Vec<T>, items: impl IntoIterator<Item = T>) -> Range<usize> {
    let from = table.len();
    table.extend(items);
    from..table.len()
}

/// The mean of targets of `rows` rows each, and columns C such that `C·Cᵀ` is the summed products
/// of their deviations from it.
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

/// The columns of the Cholesky factor of a matrix that may be singular, without zero columns.
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

#[cfg(test)]
mod tests {
    use crate::algebra::conditional::Solve;
    use crate::algebra::layout::Layout;
    use crate::{Belief, Design, GroupEffect, Row, SpreadPrior};

    /// Twelve blocks of three rows, of three kinds, and six rows without a block, of two kinds. A
    /// nonzero `apart` makes all variances differ by a share, so that no two blocks are alike.
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

    /// The log likelihood, the factor, the mean and the slopes.
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
