//! Everything given the spreads: one least-squares problem in which each belief is a row.

use super::envelope::dot;
use super::layout::{Block, ColumnSd, Layout};
use super::logarithms::LogSum;
use super::products::Products;

/// What a solve gives.
///
/// The unknowns are scaled: column c's value is `mean + scale[c]·u[c]`, `u ~ N(0, 1)` before the
/// data, so that a spread of exactly zero is an ordinary value.
#[derive(Clone, Debug)]
pub(super) struct Conditional {
    /// Scale of each column at these spreads.
    pub scale: Vec<f64>,
    /// The factor L of `A = I + BᵀWB`, in envelope storage.
    pub factor: Vec<f64>,
    /// Conditional mean of u.
    pub mean: Vec<f64>,
    /// Log marginal likelihood of the spreads, `−∞` where the data cannot be.
    pub log_likelihood: f64,
}

/// Solves at one set of spreads after the other.
pub(super) struct Solve<'a> {
    layout: &'a Layout,
    /// What was solved last.
    pub system: Conditional,
    products: Products,
    inverse: Vec<f64>,
    cov: Vec<f64>,
    fitted: Vec<f64>,
    scaled: Vec<f64>,
}

impl<'a> Solve<'a> {
    /// Memory for solving `layout`.
    pub fn new(layout: &'a Layout) -> Self {
        let columns = layout.columns.len();
        Self {
            layout,
            system: Conditional {
                scale: vec![0.0; columns],
                factor: vec![0.0; layout.envelope.len()],
                mean: vec![0.0; columns],
                log_likelihood: f64::NEG_INFINITY,
            },
            products: Products::new(layout.widest),
            inverse: Vec::new(),
            cov: Vec::new(),
            fitted: Vec::new(),
            scaled: Vec::new(),
        }
    }

    /// Solves at the spreads `theta`; gives the log marginal likelihood.
    ///
    /// With `A = I + BᵀWB` and `g = BᵀWy`: `log p(y|θ) = −½(N·log 2π + log|R| + log|A| +
    /// yᵀWy − gᵀA⁻¹g)`, R the noise of rows and blocks, `W = R⁻¹`. Source: docs/model.md,
    /// "Fitting".
    pub fn at(&mut self, theta: &[f64]) -> f64 {
        let layout = self.layout;
        let system = &mut self.system;
        system.log_likelihood = f64::NEG_INFINITY;
        system.factor.fill(0.0);
        system.mean.fill(0.0);
        for (scale, column) in system.scale.iter_mut().zip(&layout.columns) {
            *scale = match column {
                ColumnSd::Known(sd) => *sd,
                ColumnSd::Spread(index) => theta[*index],
            };
        }
        if let Some((log_noise, weighted)) = self.gather(theta)
            && let system = &mut self.system
            && let Some(log_determinant) = {
                system.scale_up(layout);
                layout.envelope.factorise(&mut system.factor)
            }
        {
            layout.envelope.forward(&system.factor, &mut system.mean, 0);
            let explained = dot(&system.mean, &system.mean);
            layout.envelope.backward(&system.factor, &mut system.mean);
            let constant = layout.rows as f64 * (2.0 * std::f64::consts::PI).ln();
            let total = constant + log_noise + log_determinant + weighted - explained;
            system.log_likelihood = -0.5 * total;
        }
        self.system.log_likelihood
    }

    /// Sums `XᵀWX` into `factor` and `XᵀWy` into `mean`; gives `log|R|` and `yᵀWy`, or `None`
    /// where a row has no noise at all.
    fn gather(&mut self, theta: &[f64]) -> Option<(f64, f64)> {
        let (mut log, mut weighted) = (LogSum::new(), 0.0);
        for block in self.layout.blocks() {
            self.products.form(block, theta, None, &mut log)?;
            weighted += self.system.scatter(self.layout, block, &self.products);
        }
        Some((log.value(), weighted))
    }

    /// The slope of the log likelihood against the logarithm of each spread, at what was solved
    /// last.
    ///
    /// Of a spread θ of columns it is `Σ (û² − 1 + (A⁻¹)_cc)` over its columns; of one of rows or
    /// blocks it is a sum over the blocks. Source: docs/model.md, "Slopes".
    pub fn slopes(&mut self, theta: &[f64]) -> Vec<f64> {
        let layout = self.layout;
        let mut slopes = vec![0.0; layout.priors.len()];
        layout.envelope.inverse(&self.system.factor, &mut self.inverse);
        for (column, sd) in layout.columns.iter().enumerate() {
            if let ColumnSd::Spread(spread) = sd {
                let mean = self.system.mean[column];
                let variance = self.inverse[layout.envelope.index(column, column)];
                slopes[*spread] += mean * mean - 1.0 + variance;
            }
        }
        for block in layout.blocks() {
            // The same sums as when it was solved, so that no row is without noise.
            let _ = self.products.form(block, theta, None, &mut LogSum::new());
            self.of_patterns(block);
            self.products.slopes(block, theta, (&self.cov, &self.fitted), &mut slopes);
        }
        slopes
    }

    /// Means and covariances of the coefficients of a block's patterns.
    fn of_patterns(&mut self, block: Block<'_>) {
        let (envelope, size) = (&self.layout.envelope, block.width - 1);
        let (scale, mean) = (&self.system.scale, &self.system.mean);
        self.cov.clear();
        self.cov.resize(size * size, 0.0);
        self.fitted.clear();
        self.fitted.resize(size, 0.0);
        self.scaled.clear();
        self.scaled.extend(block.columns.iter().map(|one| one.multiplier * scale[one.column]));
        for (at, (one, &own)) in block.columns.iter().zip(&self.scaled).enumerate() {
            if own == 0.0 {
                continue;
            }
            self.fitted[one.pattern] += own * mean[one.column];
            let row = envelope.row(&self.inverse, one.column);
            let first = envelope.first(one.column);
            let cov = &mut self.cov[one.pattern * size..(one.pattern + 1) * size];
            for (other, scaled) in block.columns[..at].iter().zip(&self.scaled) {
                cov[other.pattern] += own * scaled * row[other.column - first];
            }
            cov[one.pattern] += 0.5 * own * own * row[row.len() - 1];
        }
        for i in 0..size {
            for j in 0..=i {
                let both = self.cov[i * size + j] + self.cov[j * size + i];
                self.cov[i * size + j] = both;
                self.cov[j * size + i] = both;
            }
        }
    }
}

impl Conditional {
    /// Adds the block's products to the system and gives its `yᵀWy`.
    fn scatter(&mut self, layout: &Layout, block: Block<'_>, products: &Products) -> f64 {
        let last = products.with_target();
        for (at, to) in block.columns.iter().enumerate() {
            let (start, first) =
                (layout.envelope.start(to.column), layout.envelope.first(to.column));
            let row = &mut self.factor[start..start + to.column - first + 1];
            let with = products.with(to.pattern);
            for from in &block.columns[..=at] {
                row[from.column - first] += to.multiplier * from.multiplier * with[from.pattern];
            }
            self.mean[to.column] += to.multiplier * last[to.pattern];
        }
        last[block.width - 1]
    }

    /// `A = I + S·(XᵀWX)·S` and `g = S·XᵀWy`, S the scales.
    fn scale_up(&mut self, layout: &Layout) {
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

#[cfg(test)]
mod tests {
    use super::super::{Belief, Design, GroupEffect, Row, SpreadPrior};
    use super::*;

    /// Three groups, five blocks with two effects each, effects of every row's own.
    fn layout() -> Layout {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(0.5);
        let spreads = ["group", "tilt", "block", "slope", "own"];
        let [group, tilt, block, slope, own] = spreads.map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let other = design.coefficient(Belief { mean: -0.3, sd: 0.7 });
        let effects =
            vec![GroupEffect::Spread(group), GroupEffect::Spread(tilt), GroupEffect::Known(0.2)];
        let groups = design.grouping(3, effects);
        let [one, two, three] = [0, 1, 2].map(|effect| design.effect(groups, effect));
        design.block(block);
        design.block(slope);
        let mut targets = Vec::new();
        for row in 0..13 {
            let (load, at) = (1.0 + 0.1 * row as f64, (row * 7 % 5) as f64);
            let knocked = if row % 3 == 0 { load } else { 0.0 };
            design.push(Row {
                variance: 0.02 + 0.01 * at,
                coefficients: vec![(level, load), (other, at - 1.5)],
                effects: vec![(one, row % 3, load), (two, row % 3, knocked), (three, row % 3, 1.0)],
                own: vec![(own, load)],
                block: (row < 12).then(|| (row / 3, vec![load, knocked])),
            });
            targets.push((1.7 * row as f64).sin() + load);
        }
        Layout::new(&design, &targets)
    }

    /// Against central differences, whose error is of the order of step² and of rounding/step.
    #[test]
    fn slopes_are_those_of_small_steps() {
        let layout = layout();
        let mut solve = Solve::new(&layout);
        for theta in
            [[0.5, 0.3, 0.2, 0.7, 0.4], [0.05, 1.0, 0.4, 0.02, 0.1], [2.0, 0.0, 0.0, 1.0, 0.3]]
        {
            assert!(solve.at(&theta).is_finite());
            let slopes = solve.slopes(&theta);
            for (k, slope) in slopes.iter().enumerate() {
                let mut side = |step: f64| {
                    let mut moved = theta;
                    moved[k] *= step.exp();
                    solve.at(&moved)
                };
                let step = 1e-3;
                let near = (side(step) - side(-step)) / (2.0 * step);
                let wide = (side(2.0 * step) - side(-2.0 * step)) / (4.0 * step);
                let difference = (4.0 * near - wide) / 3.0;
                assert!((slope - difference).abs() < 1e-7, "{theta:?} {k}: {slope} {difference}");
            }
        }
    }
}
