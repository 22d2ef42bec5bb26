//! Solves for everything given the spreads: one least-squares problem in which beliefs are rows.

use super::blocks::Block;
use super::effects::ColumnSd;
use super::kind::BlockColumn;
use super::lanes::{add_product, add_times, dots, each};
use super::layout::Layout;
use super::logarithms::LogSum;
use super::products::{PatternCoefficients, Products};

/// The result of a solve, in every lane.
///
/// The unknowns are scaled: column c's value is `mean + scale[c]·u[c]`. Before the data
/// `u ~ N(0, Γ)`, with ones on Γ's diagonal, so a spread of exactly zero is an ordinary value.
#[derive(Clone, Debug)]
pub(crate) struct Conditional<const N: usize> {
    /// Squares of the spreads that were solved for.
    pub squares: Vec<[f64; N]>,
    /// Scale of each column at these spreads.
    pub scale: Vec<[f64; N]>,
    /// The factor L of `A = Γ⁻¹ + BᵀWB`, in envelope storage.
    pub factor: Vec<[f64; N]>,
    /// Conditional mean of u.
    pub mean: Vec<[f64; N]>,
    /// Log marginal likelihood of the spreads, `−∞` where the data are impossible.
    pub log_likelihood: [f64; N],
}

/// Solves at one set of spreads after another, or at `N` sets side by side.
pub(crate) struct Solve<'a, const N: usize = 1> {
    layout: &'a Layout,
    /// The latest solution.
    pub system: Conditional<N>,
    products: Products<N>,
    active: Vec<usize>,
    inverse: Vec<[f64; N]>,
    /// Those of the block last looked at.
    patterns: PatternCoefficients<N>,
    scaled: Vec<[f64; N]>,
}

impl<'a, const N: usize> Solve<'a, N> {
    /// Allocates the memory for solving `layout`.
    pub fn new(layout: &'a Layout) -> Self {
        Self {
            layout,
            system: Conditional::new(layout),
            products: Products::new(layout.widest()),
            active: Vec::new(),
            inverse: Vec::new(),
            patterns: PatternCoefficients::default(),
            scaled: Vec::new(),
        }
    }

    /// Solves at the spreads `theta`, one number in each lane, and returns the log marginal
    /// likelihoods.
    ///
    /// With `A = Γ⁻¹ + BᵀWB` and `g = BᵀWy`: `log p(y|θ) = −½(N·log 2π + log|R| + log|Γ| + log|A| +
    /// yᵀWy − gᵀA⁻¹g)`, R the noise of rows and blocks, `W = R⁻¹`. Source: docs/model.md,
    /// "Fitting".
    pub fn side_by_side(&mut self, theta: &[[f64; N]]) -> [f64; N] {
        let (layout, system) = (self.layout, &mut self.system);
        system.reset(layout, theta);
        let (mut log_noise, mut weighted) = (LogSum::new(), [0.0; N]);
        for block in layout.blocks() {
            self.products.form(block, &system.squares, None, &mut log_noise);
            let own = system.scatter(layout, block, &self.products);
            add_times(&mut weighted, &own, 1.0);
        }
        system.scale_up(layout);
        let (log_noise, log_determinant) =
            (log_noise.value(), layout.envelope.factorise(&mut system.factor));
        let explained = system.solve_mean(layout, &mut self.active);
        let constant =
            layout.rows as f64 * (2.0 * std::f64::consts::PI).ln() + layout.log_correlations;
        system.log_likelihood = each(|lane| {
            let noise = constant + log_noise[lane] + log_determinant[lane];
            -0.5 * (noise + weighted[lane] - explained[lane])
        });
        system.forget_the_impossible(layout);
        system.log_likelihood
    }
}

impl<const N: usize> Solve<'_, N> {
    /// The slope of the log likelihood against the logarithm of each spread, at the latest
    /// solution.
    ///
    /// For a spread θ of columns it is `Σ (û² − 1 + (A⁻¹)_cc)` over its columns. For a spread of
    /// rows or blocks it is a sum over the blocks. Source: docs/model.md, "Slopes".
    pub fn slopes(&mut self) -> Vec<[f64; N]> {
        let layout = self.layout;
        let mut slopes = vec![[0.0; N]; layout.priors.len()];
        layout.envelope.inverse(&self.system.factor, &mut self.inverse);
        for (column, sd) in layout.columns.iter().enumerate() {
            if let ColumnSd::Spread(spread) = sd {
                let mean = &self.system.mean[column];
                let variance = &self.inverse[layout.envelope.index(column, column)];
                add_product(&mut slopes[*spread], mean, mean);
                add_times(&mut slopes[*spread], &variance.map(|variance| variance - 1.0), 1.0);
            }
        }
        for block in layout.blocks() {
            self.products.form(block, &self.system.squares, None, &mut LogSum::new());
            self.of_patterns(block);
            let squares = &self.system.squares;
            self.products.slopes(block, squares, &self.patterns, &mut slopes);
        }
        slopes
    }

    /// Means and covariances of the coefficients of a block's patterns.
    fn of_patterns(&mut self, block: Block<'_>) {
        let (envelope, size) = (&self.layout.envelope, block.target);
        let PatternCoefficients { cov, fitted } = &mut self.patterns;
        cov.clear();
        cov.resize(size * size, [0.0; N]);
        fitted.clear();
        fitted.resize(size, [0.0; N]);
        self.scaled.clear();
        let scale = |one: &BlockColumn| self.system.scale[one.column].map(|s| one.multiplier * s);
        self.scaled.extend(block.columns.iter().map(scale));
        for (at, (one, own)) in block.columns.iter().zip(&self.scaled).enumerate() {
            if *own == [0.0; N] {
                continue;
            }
            add_product(&mut fitted[one.pattern], own, &self.system.mean[one.column]);
            let row = envelope.row(&self.inverse, one.column);
            let first = envelope.first(one.column);
            let cov = &mut cov[one.pattern * size..(one.pattern + 1) * size];
            for (other, scaled) in block.columns[..at].iter().zip(&self.scaled) {
                let both = each(|lane| own[lane] * scaled[lane]);
                add_product(&mut cov[other.pattern], &both, &row[other.column - first]);
            }
            let half = own.map(|own| 0.5 * own * own);
            add_product(&mut cov[one.pattern], &half, &row[row.len() - 1]);
        }
        for i in 0..size {
            for j in 0..=i {
                let mut both = cov[i * size + j];
                add_times(&mut both, &cov[j * size + i], 1.0);
                cov[i * size + j] = both;
                cov[j * size + i] = both;
            }
        }
    }
}

impl Solve<'_> {
    /// Solves at the spreads `theta` and returns the log marginal likelihood.
    pub fn at(&mut self, theta: &[f64]) -> f64 {
        let [log_likelihood] = self.side_by_side(theta.as_chunks().0);
        log_likelihood
    }
}

impl<const N: usize> Conditional<N> {
    fn new(layout: &Layout) -> Self {
        let columns = layout.columns.len();
        Self {
            squares: Vec::with_capacity(layout.priors.len()),
            scale: vec![[0.0; N]; columns],
            factor: vec![[0.0; N]; layout.envelope.len()],
            mean: vec![[0.0; N]; columns],
            log_likelihood: [f64::NEG_INFINITY; N],
        }
    }

    /// Resets the system to these spreads, without data.
    fn reset(&mut self, layout: &Layout, theta: &[[f64; N]]) {
        self.squares.clear();
        self.squares.extend(theta.iter().map(|theta| theta.map(|theta| theta * theta)));
        self.factor.fill([0.0; N]);
        self.mean.fill([0.0; N]);
        for (scale, column) in self.scale.iter_mut().zip(&layout.columns) {
            *scale = match column {
                ColumnSd::Known(sd) => [*sd; N],
                ColumnSd::Spread(index) => theta[*index],
            };
        }
    }

    /// Adds the block's products to the system, once for each level that it covers, and returns its
    /// `yᵀWy`.
    fn scatter(&mut self, layout: &Layout, block: Block<'_>, products: &Products<N>) -> [f64; N] {
        let target = products.with_target();
        for (at, to) in block.columns.iter().enumerate() {
            let (start, first) =
                (layout.envelope.start(to.column), layout.envelope.first(to.column));
            let row = &mut self.factor[start..start + to.column - first + 1];
            let (with, times) = (products.with(to.pattern), block.count * to.multiplier);
            for from in &block.columns[..=at] {
                let both = times * from.multiplier;
                add_times(&mut row[from.column - first], &with[from.pattern], both);
            }
            add_times(&mut self.mean[to.column], &target[to.pattern], times);
        }
        products.of_targets()
    }

    /// `A = Γ⁻¹ + S·(XᵀWX)·S` and `g = S·XᵀWy`, S the scales.
    fn scale_up(&mut self, layout: &Layout) {
        for i in 0..self.scale.len() {
            let (first, own) = (layout.envelope.first(i), self.scale[i]);
            let start = layout.envelope.start(i);
            let row = &mut self.factor[start..start + i - first + 1];
            for (value, scale) in row.iter_mut().zip(&self.scale[first..]) {
                *value = each(|lane| value[lane] * (own[lane] * scale[lane]));
            }
            self.mean[i] = each(|lane| self.mean[i][lane] * own[lane]);
        }
        for &(at, value) in &layout.believed {
            self.factor[at] = self.factor[at].map(|data| data + value);
        }
    }

    /// Replaces `g` by the mean and returns `gᵀA⁻¹g`.
    fn solve_mean(&mut self, layout: &Layout, active: &mut Vec<usize>) -> [f64; N] {
        layout.envelope.forward(&self.factor, &mut self.mean, 0, active);
        let explained = dots(&self.mean, &self.mean);
        layout.envelope.backward(&self.factor, &mut self.mean);
        explained
    }

    /// Marks the lanes in which the data are impossible and resets them to their values before the
    /// data. They carry no weight, but averages must not include values that are not numbers.
    fn forget_the_impossible(&mut self, layout: &Layout) {
        if self.log_likelihood.iter().all(|log| log.is_finite()) {
            return;
        }
        let mut before = vec![[0.0]; self.factor.len()];
        layout.believed.iter().for_each(|&(at, value)| before[at] = [value]);
        layout.envelope.factorise(&mut before);
        for lane in 0..N {
            if self.log_likelihood[lane].is_finite() {
                continue;
            }
            self.log_likelihood[lane] = f64::NEG_INFINITY;
            self.mean.iter_mut().for_each(|value| value[lane] = 0.0);
            self.factor.iter_mut().zip(&before).for_each(|(value, [before])| value[lane] = *before);
        }
    }

    /// Copies the solution of one lane into `alone`.
    pub fn copy_lane(&self, lane: usize, alone: &mut Conditional<1>) {
        let copy = |from: &[[f64; N]], to: &mut Vec<[f64; 1]>| {
            to.clear();
            to.extend(from.iter().map(|lanes| [lanes[lane]]));
        };
        copy(&self.squares, &mut alone.squares);
        copy(&self.scale, &mut alone.scale);
        copy(&self.factor, &mut alone.factor);
        copy(&self.mean, &mut alone.mean);
        alone.log_likelihood = [self.log_likelihood[lane]];
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Belief, Design, GroupEffect, Row, SpreadPrior};

    /// Three groups, five blocks with two effects each, an effect for each row, and two
    /// coefficients with this correlation before the data.
    fn layout(correlation: f64) -> Layout {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(0.5);
        let spreads = ["group", "tilt", "block", "slope", "own"];
        let [group, tilt, block, slope, own] = spreads.map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let other = design.coefficient(Belief { mean: -0.3, sd: 0.7 });
        design.correlate(level, other, correlation);
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

    /// A lane with impossible data carries no weight and does not disturb the others.
    #[test]
    fn lanes_do_what_each_does_alone() {
        [0.0, -0.8].map(layout).iter().for_each(lanes_as_alone);
    }

    fn lanes_as_alone(layout: &Layout) {
        let thetas =
            [[0.5, 0.3, 0.2, 0.7, 0.4], [0.5, 0.3, 1e200, 0.7, 0.4], [2.0, 0.0, 0.0, 1.0, 0.3]];
        let mut lanes = Solve::<3>::new(layout);
        let side_by_side: Vec<[f64; 3]> = (0..5).map(|k| thetas.map(|theta| theta[k])).collect();
        let found = lanes.side_by_side(&side_by_side);
        let slopes = lanes.slopes();
        let mut copied = Conditional::new(layout);
        for lane in [0, 2] {
            let mut alone = Solve::new(layout);
            let own = alone.at(&thetas[lane]);
            // If one lane leaves the range of a double, the logarithms of all lanes are taken
            // earlier.
            assert!((own - found[lane]).abs() < 1e-14 * own.abs(), "{own} {}", found[lane]);
            lanes.system.copy_lane(lane, &mut copied);
            assert_eq!((&copied.factor, &copied.mean), (&alone.system.factor, &alone.system.mean));
            let own: Vec<f64> = slopes.iter().map(|slope| slope[lane]).collect();
            assert_eq!(alone.slopes().as_flattened(), own);
        }
        assert_eq!(found[1], f64::NEG_INFINITY);
        let possible = [thetas[0], thetas[2], [0.1, 0.2, 0.3, 0.4, 0.5]];
        let side_by_side: Vec<[f64; 3]> = (0..5).map(|k| possible.map(|theta| theta[k])).collect();
        let alone = possible.map(|theta| Solve::new(layout).at(&theta));
        assert_eq!(Solve::new(layout).side_by_side(&side_by_side), alone, "to the last bit");
        lanes.system.copy_lane(1, &mut copied);
        let mut before = vec![[0.0]; layout.envelope.len()];
        layout.believed.iter().for_each(|&(at, value)| before[at] = [value]);
        layout.envelope.factorise(&mut before);
        assert_eq!(copied.factor, before, "as before the data");
        assert!(copied.mean.iter().all(|mean| *mean == [0.0]));
    }

    /// Compared with central differences of two steps, combined so that their error is of the order
    /// of step⁴ and of rounding/step.
    #[test]
    fn slopes_are_those_of_small_steps() {
        [0.0, 0.9].map(layout).iter().for_each(slopes_as_steps);
    }

    fn slopes_as_steps(layout: &Layout) {
        let mut solve = Solve::new(layout);
        for theta in
            [[0.5, 0.3, 0.2, 0.7, 0.4], [0.05, 1.0, 0.4, 0.02, 0.1], [2.0, 0.0, 0.0, 1.0, 0.3]]
        {
            assert!(solve.at(&theta).is_finite());
            let slopes = solve.slopes();
            for (k, [slope]) in slopes.iter().enumerate() {
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
