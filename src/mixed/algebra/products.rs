//! The products of a block's columns after its own effects are eliminated, and the slopes of the
//! spreads that follow from them.

use super::blocks::Block;
use super::lanes::{add_product, add_times, dots, each};
use super::logarithms::LogSum;

/// The coefficients of a block's patterns.
#[derive(Clone, Debug, Default)]
pub(crate) struct PatternCoefficients<const N: usize> {
    /// Their covariance, row by row.
    pub cov: Vec<[f64; N]>,
    /// Their means.
    pub fitted: Vec<[f64; N]>,
}

/// Working memory, and the latest products.
#[derive(Clone, Debug)]
pub(crate) struct Products<const N: usize> {
    /// `Pᵀ·W·P` row by row, with P the columns of the block's matrix.
    values: Vec<[f64; N]>,
    /// The pattern index of each eliminated effect, and its share `s/(1 + s·zᵀ·W·z)`.
    eliminated: Vec<(usize, [f64; N])>,
    /// For each eliminated effect `zᵀ·W·P`, with W before its elimination.
    through: Vec<[f64; N]>,
    /// One row of `W·P`.
    row: Vec<[f64; N]>,
    width: usize,
    /// Index of the target.
    target: usize,
    /// Number of targets that it is the mean of.
    count: f64,
}

impl<const N: usize> Products<N> {
    /// Allocates memory for blocks up to this width.
    pub fn new(widest: usize) -> Self {
        Self {
            values: vec![[0.0; N]; widest * widest],
            eliminated: Vec::new(),
            through: Vec::new(),
            row: vec![[0.0; N]; widest],
            width: 0,
            target: 0,
            count: 1.0,
        }
    }

    /// Forms the products of `block` at these squares of the spreads, and adds `log|R|` to `log`.
    /// Every effect of the block except `kept` is eliminated.
    ///
    /// Sherman–Morrison, effect after effect: `W ← W − W·z·zᵀ·W·s/(1 + s·zᵀ·W·z)`, z the effect's
    /// multipliers and s its variance. The multipliers are patterns of the block, so both products
    /// are already among the values.
    pub fn form(
        &mut self,
        block: Block<'_>,
        squares: &[[f64; N]],
        kept: Option<usize>,
        log: &mut LogSum<N>,
    ) {
        (self.width, self.target, self.count) = (block.width, block.target, block.count);
        self.values[..block.width * block.width].fill([0.0; N]);
        self.eliminated.clear();
        self.through.clear();
        for (index, row) in block.matrix.chunks_exact(block.width).enumerate() {
            let total = block.noise(index, squares);
            log.add_times(&total, block.count as u32);
            self.add_row(row, total.map(f64::recip));
        }
        for (effect, &spread) in block.spreads.iter().enumerate() {
            let variance = &squares[spread];
            if *variance != [0.0; N] && kept != Some(effect) {
                log.add_times(&self.eliminate(effect, variance), block.count as u32);
            }
        }
        self.mirror();
    }

    /// Adds `weight·x·xᵀ` to the lower triangle.
    fn add_row(&mut self, x: &[f64], weight: [f64; N]) {
        for (i, &left) in x.iter().enumerate() {
            if left == 0.0 {
                continue;
            }
            let scaled = weight.map(|weight| weight * left);
            let row = &mut self.values[i * self.width..i * self.width + i + 1];
            row.iter_mut().zip(x).for_each(|(total, &right)| add_times(total, &scaled, right));
        }
    }

    /// Eliminates the effect whose multipliers are pattern `effect`. Returns the factor that it
    /// contributes to `|R|`.
    fn eliminate(&mut self, effect: usize, variance: &[f64; N]) -> [f64; N] {
        let (from, width) = (self.through.len(), self.width);
        let place = |pattern: usize| pattern.max(effect) * width + pattern.min(effect);
        self.through.extend((0..width).map(|pattern| self.values[place(pattern)]));
        let through = &self.through[from..];
        let shrunk = each(|lane| 1.0 + variance[lane] * through[effect][lane]);
        let share = each(|lane| variance[lane] / shrunk[lane]);
        for (i, left) in through.iter().enumerate() {
            let scaled = each(|lane| -share[lane] * left[lane]);
            let row = &mut self.values[i * width..i * width + i + 1];
            row.iter_mut().zip(through).for_each(|(to, x)| add_product(to, &scaled, x));
        }
        self.eliminated.push((effect, share));
        shrunk
    }

    /// Copies the lower triangle into the upper one.
    fn mirror(&mut self) {
        for i in 1..self.width {
            for j in 0..i {
                self.values[j * self.width + i] = self.values[i * self.width + j];
            }
        }
    }

    pub fn with(&self, pattern: usize) -> &[[f64; N]] {
        &self.values[pattern * self.width..(pattern + 1) * self.width]
    }

    /// The products with the mean target.
    pub fn with_target(&self) -> &[[f64; N]] {
        self.with(self.target)
    }

    /// `yᵀ·W·y`, summed over all targets y.
    pub fn of_targets(&self) -> [f64; N] {
        let mut sum = self.with_target()[self.target].map(|mean| self.count * mean);
        (self.target + 1..self.width).for_each(|k| add_times(&mut sum, &self.with(k)[k], 1.0));
        sum
    }

    /// `W·z` row by row, z the multipliers of an effect.
    pub fn weights(
        &mut self,
        block: Block<'_>,
        squares: &[[f64; N]],
        effect: usize,
    ) -> Vec<[f64; N]> {
        let rows = block.matrix.chunks_exact(self.width).enumerate();
        rows.map(|(index, row)| {
            self.weigh(row, &block.noise(index, squares));
            self.row[effect]
        })
        .collect()
    }

    /// Adds the block's part of the slope of the log likelihood against `log θ`, for each spread of
    /// its own effects and rows.
    ///
    /// With Σ the covariance of everything, `α = Σ⁻¹·(y − mean)` and z the multipliers of an effect,
    /// the slope is `θ²·((zᵀα)² − zᵀΣ⁻¹z)`, and `Σ⁻¹ = W − W·P·cov·Pᵀ·W`. Source: docs/model.md,
    /// "Slopes".
    pub fn slopes(
        &mut self,
        block: Block<'_>,
        squares: &[[f64; N]],
        PatternCoefficients { cov, fitted }: &PatternCoefficients<N>,
        slopes: &mut [[f64; N]],
    ) {
        let (target, count) = (self.target, self.count);
        let add = |slope: &mut [f64; N], variance: [f64; N], row: &[[f64; N]], own: &[f64; N]| {
            let patterns = &row[..target];
            let (fitted, square) = (dots(patterns, fitted), quadratic(cov, patterns));
            let apart = dots(&row[target + 1..], &row[target + 1..]);
            for lane in 0..N {
                let residual = row[target][lane] - fitted[lane];
                let left = own[lane] - square[lane];
                slope[lane] +=
                    variance[lane] * (count * (residual * residual - left) + apart[lane]);
            }
        };
        for (effect, &spread) in block.spreads.iter().enumerate() {
            let row = self.with(effect);
            add(&mut slopes[spread], squares[spread], row, &row[effect]);
        }
        for (index, row) in block.matrix.chunks_exact(self.width).enumerate() {
            if block.own(index).is_empty() {
                continue;
            }
            let diagonal = self.weigh(row, &block.noise(index, squares));
            for &(spread, load) in block.own(index) {
                let variance = squares[spread].map(|square| load * square);
                add(&mut slopes[spread], variance, &self.row[..self.width], &diagonal);
            }
        }
    }

    /// Writes the row of `W·P` to `self.row` and returns the matching element of W's diagonal.
    fn weigh(&mut self, row: &[f64], noise: &[f64; N]) -> [f64; N] {
        let mut diagonal = noise.map(f64::recip);
        for (to, &x) in self.row.iter_mut().zip(row) {
            *to = diagonal.map(|weight| weight * x);
        }
        let each_effect = self.eliminated.iter().zip(self.through.chunks_exact(self.width));
        for ((effect, share), through) in each_effect {
            let own = self.row[*effect];
            let less = each(|lane| -share[lane] * own[lane]);
            add_product(&mut diagonal, &less, &own);
            self.row.iter_mut().zip(through).for_each(|(to, x)| add_product(to, &less, x));
        }
        diagonal
    }
}

/// `xᵀ·matrix·x` for a symmetric matrix stored in full.
fn quadratic<const N: usize>(matrix: &[[f64; N]], x: &[[f64; N]]) -> [f64; N] {
    let mut sum = [0.0; N];
    for (row, one) in matrix.chunks_exact(x.len().max(1)).zip(x) {
        add_product(&mut sum, one, &dots(row, x));
    }
    sum
}
