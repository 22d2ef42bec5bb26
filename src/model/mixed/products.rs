//! The products of a block's columns once its own effects are eliminated, and what they say of the
//! spreads.

use super::envelope::dot;
use super::layout::Block;
use super::logarithms::LogSum;

/// Working memory, and the products last formed.
#[derive(Clone, Debug)]
pub(super) struct Products {
    /// `Pᵀ·W·P` row by row; P the block's patterns with the centred target last.
    values: Vec<f64>,
    /// The place of each effect eliminated, and the share `s/(1 + s·zᵀ·W·z)`.
    eliminated: Vec<(usize, f64)>,
    /// For each of them `zᵀ·W·P`, with W as it was before.
    through: Vec<f64>,
    /// One row of `W·P`.
    row: Vec<f64>,
    width: usize,
}

impl Products {
    /// Memory for blocks of at most this width.
    pub fn new(widest: usize) -> Self {
        Self {
            values: vec![0.0; widest * widest],
            eliminated: Vec::new(),
            through: Vec::new(),
            row: vec![0.0; widest],
            width: 0,
        }
    }

    /// Forms the products of `block` at the spreads `theta` with each of its effects eliminated,
    /// save one that is to be kept, and adds `log|R|` to `log`; `None` where a row has no noise at
    /// all.
    ///
    /// Sherman–Morrison, effect after effect: `W ← W − W·z·zᵀ·W·s/(1 + s·zᵀ·W·z)`, z the effect's
    /// multipliers and s its variance. The multipliers are patterns of the block, so both products
    /// are among those that are there.
    pub fn form(
        &mut self,
        block: Block<'_>,
        theta: &[f64],
        kept: Option<usize>,
        log: &mut LogSum,
    ) -> Option<()> {
        self.width = block.width;
        self.values[..block.width * block.width].fill(0.0);
        self.eliminated.clear();
        self.through.clear();
        for (index, row) in block.matrix.chunks_exact(block.width).enumerate() {
            let total = block.noise(index, theta);
            if total <= 0.0 {
                return None;
            }
            log.add(total);
            add_outer(&mut self.values, row, 1.0 / total);
        }
        for (effect, &spread) in block.spreads.iter().enumerate() {
            let variance = theta[spread] * theta[spread];
            if variance > 0.0 && kept != Some(effect) {
                log.add(self.eliminate(effect, variance));
            }
        }
        self.mirror();
        Some(())
    }

    /// Eliminates the effect whose multipliers are pattern `effect`; gives the factor that it
    /// brings into `|R|`.
    fn eliminate(&mut self, effect: usize, variance: f64) -> f64 {
        let from = self.through.len();
        self.through
            .extend((0..self.width).map(|pattern| {
                self.values[pattern.max(effect) * self.width + pattern.min(effect)]
            }));
        let through = &self.through[from..];
        let shrunk = 1.0 + variance * through[effect];
        add_outer(&mut self.values, through, -variance / shrunk);
        self.eliminated.push((effect, variance / shrunk));
        shrunk
    }

    /// Fills the upper triangle in.
    fn mirror(&mut self) {
        for i in 1..self.width {
            for j in 0..i {
                self.values[j * self.width + i] = self.values[i * self.width + j];
            }
        }
    }

    /// The product of two patterns.
    pub fn at(&self, one: usize, other: usize) -> f64 {
        self.values[one * self.width + other]
    }

    /// The products of a pattern with each.
    pub fn with(&self, pattern: usize) -> &[f64] {
        &self.values[pattern * self.width..(pattern + 1) * self.width]
    }

    /// The products with the centred target, its own last.
    pub fn with_target(&self) -> &[f64] {
        self.with(self.width - 1)
    }

    /// Adds to `slopes` what the block says of the spreads of its own effects and rows: the slope
    /// of the log likelihood against `log θ`, for each spread.
    ///
    /// `cov` is the covariance of the patterns' coefficients and `fitted` their means. With Σ the
    /// covariance of everything, `α = Σ⁻¹·(y − mean)` and z the multipliers of an effect the slope
    /// is `θ²·((zᵀα)² − zᵀΣ⁻¹z)`, and `Σ⁻¹ = W − W·P·cov·Pᵀ·W`. Source: docs/model.md, "Slopes".
    pub fn slopes(
        &mut self,
        block: Block<'_>,
        theta: &[f64],
        (cov, fitted): (&[f64], &[f64]),
        slopes: &mut [f64],
    ) {
        let last = self.width - 1;
        for (effect, &spread) in block.spreads.iter().enumerate() {
            let variance = theta[spread] * theta[spread];
            if variance > 0.0 {
                let row = self.with(effect);
                let residual = row[last] - dot(&row[..last], fitted);
                let left = row[effect] - quadratic(cov, &row[..last]);
                slopes[spread] += variance * (residual * residual - left);
            }
        }
        for (index, row) in block.matrix.chunks_exact(self.width).enumerate() {
            if block.own(index).is_empty() {
                continue;
            }
            let diagonal = self.weigh(row, block.noise(index, theta));
            let residual = self.row[last] - dot(&self.row[..last], fitted);
            let left = diagonal - quadratic(cov, &self.row[..last]);
            for &(spread, load) in block.own(index) {
                let variance = load * theta[spread] * theta[spread];
                slopes[spread] += variance * (residual * residual - left);
            }
        }
    }

    /// Puts the row of `W·P` in `self.row` and gives the same element of W's diagonal.
    fn weigh(&mut self, row: &[f64], noise: f64) -> f64 {
        let weight = 1.0 / noise;
        self.row.iter_mut().zip(row).for_each(|(to, x)| *to = weight * x);
        let mut diagonal = weight;
        let each = self.eliminated.iter().zip(self.through.chunks_exact(self.width));
        for (&(effect, share), through) in each {
            let own = self.row[effect];
            diagonal -= share * own * own;
            self.row.iter_mut().zip(through).for_each(|(to, x)| *to -= share * own * x);
        }
        diagonal
    }
}

/// Adds `weight·x·xᵀ` to the lower triangle.
fn add_outer(values: &mut [f64], x: &[f64], weight: f64) {
    for (i, &left) in x.iter().enumerate() {
        if left == 0.0 {
            continue;
        }
        let scaled = weight * left;
        let row = &mut values[i * x.len()..i * x.len() + i + 1];
        row.iter_mut().zip(x).for_each(|(total, right)| *total += scaled * right);
    }
}

/// `xᵀ·matrix·x`, the matrix symmetric and whole.
fn quadratic(matrix: &[f64], x: &[f64]) -> f64 {
    matrix.chunks_exact(x.len().max(1)).zip(x).map(|(row, x_i)| x_i * dot(row, x)).sum()
}
