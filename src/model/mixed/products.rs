//! The products of a block's columns once its own effects are eliminated.

use super::layout::Block;

/// Working memory, and the products last formed.
#[derive(Clone, Debug)]
pub(super) struct Products {
    /// `Pᵀ·W·P` row by row, lower triangle; P the block's patterns with the centred target last.
    values: Vec<f64>,
    through: Vec<f64>,
    width: usize,
}

impl Products {
    /// Memory for blocks of at most this width.
    pub fn new(widest: usize) -> Self {
        Self { values: vec![0.0; widest * widest], through: vec![0.0; widest], width: 0 }
    }

    /// Forms the products of `block` at the spreads `theta` with each of its effects eliminated,
    /// save one that is to be kept, and gives `log|R|`; `None` where a row has no noise at all.
    ///
    /// Sherman–Morrison, effect after effect: `W ← W − W·z·zᵀ·W·s/(1 + s·zᵀ·W·z)`, z the effect's
    /// multipliers and s its variance. The multipliers are patterns of the block, so both products
    /// are among those that are there.
    pub fn form(&mut self, block: &Block, theta: &[f64], kept: Option<usize>) -> Option<f64> {
        self.width = block.width;
        self.values[..block.width * block.width].fill(0.0);
        let mut log_noise = 0.0;
        for (row, noise) in block.matrix.chunks(block.width).zip(&block.noise) {
            let total = noise.at(theta);
            if total <= 0.0 {
                return None;
            }
            log_noise += total.ln();
            self.add_outer(row, 1.0 / total);
        }
        for (effect, &spread) in block.spreads.iter().enumerate() {
            let variance = theta[spread] * theta[spread];
            if variance > 0.0 && kept != Some(effect) {
                log_noise += self.eliminate(effect, variance);
            }
        }
        Some(log_noise)
    }

    /// Eliminates the effect whose multipliers are pattern `effect`; gives what it adds to
    /// `log|R|`.
    fn eliminate(&mut self, effect: usize, variance: f64) -> f64 {
        let mut through = std::mem::take(&mut self.through);
        (0..self.width).for_each(|pattern| through[pattern] = self.at(pattern, effect));
        let shrunk = 1.0 + variance * through[effect];
        self.add_outer(&through[..self.width], -variance / shrunk);
        self.through = through;
        shrunk.ln()
    }

    /// The product of two patterns.
    pub fn at(&self, one: usize, other: usize) -> f64 {
        self.values[one.max(other) * self.width + one.min(other)]
    }

    /// Those of the lower triangle, by their place in it.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The products with the centred target, its own last.
    pub fn with_target(&self) -> &[f64] {
        &self.values[(self.width - 1) * self.width..self.width * self.width]
    }

    /// Adds `weight·x·xᵀ`.
    fn add_outer(&mut self, x: &[f64], weight: f64) {
        for (i, &left) in x.iter().enumerate() {
            if left == 0.0 {
                continue;
            }
            let scaled = weight * left;
            let row = &mut self.values[i * self.width..i * self.width + i + 1];
            row.iter_mut().zip(x).for_each(|(total, right)| *total += scaled * right);
        }
    }
}
