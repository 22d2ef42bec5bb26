//! Everything given the spreads: one least-squares problem in which each belief is a row.

use super::envelope::dot;
use super::layout::{Block, ColumnSd, Layout};
use super::products::Products;

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
    products: Products,
}

impl Conditional {
    /// Memory for solving `layout`.
    pub fn new(layout: &Layout) -> Self {
        let columns = layout.columns.len();
        Self {
            scale: vec![0.0; columns],
            factor: vec![0.0; layout.envelope.len()],
            mean: vec![0.0; columns],
            log_likelihood: f64::NEG_INFINITY,
            products: Products::new(layout.widest()),
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
        let (mut log_noise, mut weighted) = (0.0, 0.0);
        for block in &layout.blocks {
            log_noise += self.products.form(block, theta, None)?;
            weighted += self.scatter(block);
        }
        Some((log_noise, weighted))
    }

    /// Adds the block's products to the system and gives its `yᵀWy`.
    fn scatter(&mut self, block: &Block) -> f64 {
        for entry in &block.scatter {
            let product = self.products.values()[entry.from as usize];
            self.factor[entry.to as usize] += entry.multiplier * product;
        }
        let last = self.products.with_target();
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
