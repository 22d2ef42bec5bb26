//! Everything given the spreads: one least-squares problem in which each belief is a row.

use super::envelope::dot;
use super::layout::{Block, ColumnSd, Layout};

/// Working memory of one solve, and its result.
///
/// The unknowns are scaled: column c's value is `mean + scale[c]·u[c]`, `u ~ N(0, 1)` before the
/// data, so that a spread of exactly zero is an ordinary value.
#[derive(Clone, Debug)]
pub(super) struct Conditional {
    /// Scale of each column at these spreads.
    pub scale: Vec<f64>,
    /// The factor L of `I + BᵀWB`, in envelope storage.
    pub factor: Vec<f64>,
    /// Conditional mean of u.
    pub mean: Vec<f64>,
    /// Log marginal likelihood of the spreads, `−∞` where the data cannot be.
    pub log_likelihood: f64,
    local: Vec<f64>,
    through: Vec<f64>,
}

impl Conditional {
    /// Memory for solving `layout`.
    pub fn new(layout: &Layout) -> Self {
        let columns = layout.columns.len();
        let widest = layout.blocks.iter().map(|block| block.width).max().unwrap_or(1);
        Self {
            scale: vec![0.0; columns],
            factor: vec![0.0; layout.envelope.len()],
            mean: vec![0.0; columns],
            log_likelihood: f64::NEG_INFINITY,
            local: vec![0.0; widest * widest],
            through: vec![0.0; widest],
        }
    }

    /// Solves at the spreads `theta`.
    ///
    /// With `A = I + BᵀWB` and `g = BᵀWy`: `log p(y|θ) = −½(N·log 2π + log|R| + log|A| +
    /// yᵀWy − gᵀA⁻¹g)`, R the noise of rows and blocks, `W = R⁻¹`. Source: docs/model.md,
    /// "Fitting".
    pub fn solve(&mut self, layout: &Layout, theta: &[f64]) {
        self.log_likelihood = f64::NEG_INFINITY;
        self.factor.fill(0.0);
        self.mean.fill(0.0);
        for (scale, column) in self.scale.iter_mut().zip(&layout.columns) {
            *scale = match column {
                ColumnSd::Known(sd) => *sd,
                ColumnSd::Spread(index) => theta[*index],
            };
        }
        let Some((log_noise, weighted)) = self.gather(layout, theta) else { return };
        self.scale_system(layout);
        let Some(log_determinant) = layout.envelope.factorise(&mut self.factor) else { return };
        layout.envelope.forward(&self.factor, &mut self.mean, 0);
        let explained = dot(&self.mean, &self.mean);
        layout.envelope.backward(&self.factor, &mut self.mean);
        let constant = layout.rows as f64 * (2.0 * std::f64::consts::PI).ln();
        let total = constant + log_noise + log_determinant + weighted - explained;
        self.log_likelihood = -0.5 * total;
    }

    /// Sums `XᵀWX` into `factor` and `XᵀWy` into `mean`; gives `log|R|` and `yᵀWy`, or `None`
    /// where a row has no noise at all.
    fn gather(&mut self, layout: &Layout, theta: &[f64]) -> Option<(f64, f64)> {
        let spread = layout.block_spread.map_or(0.0, |index| theta[index]);
        let (mut log_noise, mut weighted) = (0.0, 0.0);
        for block in &layout.blocks {
            log_noise += self.block_products(block, theta, spread * spread)?;
            weighted += self.scatter(block);
        }
        Some((log_noise, weighted))
    }

    /// Fills `local` with `[P y]ᵀ·W·[P y]` (lower triangle), P the block's patterns, and gives
    /// its `log|R|`.
    ///
    /// Sherman–Morrison: `W = D⁻¹ − D⁻¹z zᵀD⁻¹·s/(1 + s·zᵀD⁻¹z)`, z the block effect's
    /// multipliers and s its variance.
    fn block_products(&mut self, block: &Block, theta: &[f64], variance: f64) -> Option<f64> {
        let width = block.width;
        self.local[..width * width].fill(0.0);
        self.through[..width].fill(0.0);
        let (mut log_noise, mut information) = (0.0, 0.0);
        for (index, row) in block.matrix.chunks(width).enumerate() {
            let total = block.noise[index].at(theta);
            if total <= 0.0 {
                return None;
            }
            log_noise += total.ln();
            add_outer(&mut self.local, row, 1.0 / total);
            if let Some(load) = block.loads.get(index) {
                information += load * load / total;
                let weight = load / total;
                self.through.iter_mut().zip(row).for_each(|(sum, x)| *sum += weight * x);
            }
        }
        if information > 0.0 && variance > 0.0 {
            let shrunk = 1.0 + variance * information;
            log_noise += shrunk.ln();
            add_outer(&mut self.local, &self.through[..width], -variance / shrunk);
        }
        Some(log_noise)
    }

    /// Adds the block's products to the system and gives its `yᵀWy`.
    fn scatter(&mut self, block: &Block) -> f64 {
        for entry in &block.scatter {
            self.factor[entry.to as usize] += entry.multiplier * self.local[entry.from as usize];
        }
        let last = &self.local[(block.width - 1) * block.width..block.width * block.width];
        for to in &block.columns {
            self.mean[to.column] += to.multiplier * last[to.pattern];
        }
        last[block.width - 1]
    }

    /// `A = I + S·(XᵀWX)·S` and `g = S·XᵀWy`, S the scales.
    fn scale_system(&mut self, layout: &Layout) {
        for i in 0..self.scale.len() {
            let (first, own) = (layout.envelope.first(i), self.scale[i]);
            let start = layout.envelope.start(i);
            for (j, value) in self.factor[start..start + i - first + 1].iter_mut().enumerate() {
                *value *= own * self.scale[first + j];
            }
            self.factor[start + i - first] += 1.0;
            self.mean[i] *= own;
        }
    }
}

/// Adds `weight·x·xᵀ` to the lower triangle kept row by row in `sum`.
fn add_outer(sum: &mut [f64], x: &[f64], weight: f64) {
    let width = x.len();
    for (i, &left) in x.iter().enumerate() {
        if left == 0.0 {
            continue;
        }
        let scaled = weight * left;
        let row = &mut sum[i * width..i * width + i + 1];
        row.iter_mut().zip(x).for_each(|(total, right)| *total += scaled * right);
    }
}
