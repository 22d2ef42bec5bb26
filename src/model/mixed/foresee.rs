//! What rows not yet observed will leave of a functional's variance.
//!
//! Given the spreads everything is Gaussian, so the variance after an observation does not depend
//! on what is observed: it is known before. docs/model.md, "The next trial".

use super::conditional::Conditional;
use super::design::Row;
use super::envelope::dot;
use super::functional::Resolved;
use super::layout::Layout;
use super::parallel::in_ranges;
use super::posterior::{Asking, Posterior, Solver, new_variance};
use super::{Functional, Mixture};

/// The variance of a functional, now and after rows still to be observed.
#[derive(Clone, Debug, PartialEq)]
pub struct Foreseen {
    /// With the rows that are taken for observed.
    pub before: f64,
    /// With each set of further rows as well, in their order.
    pub after: Vec<f64>,
    /// What the functional draws for itself, which no row reaches.
    pub never: f64,
}

/// The block a row is of, with the multipliers of its effects.
type InBlock = Option<(usize, Vec<f64>)>;

/// A row still to be observed, in solving order.
#[derive(Clone, Debug)]
struct Ahead {
    mean: Resolved,
    known: f64,
    own: Vec<(usize, f64)>,
    block: InBlock,
}

impl Ahead {
    fn new(row: &Row, layout: &Layout) -> Self {
        let mean = Functional {
            coefficients: row.coefficients.clone(),
            effects: row.effects.clone(),
            ..Functional::default()
        };
        Self {
            mean: mean.resolve(layout),
            known: row.variance,
            own: row.own.iter().map(|&(id, load)| (id.0, load * load)).collect(),
            block: row.block.clone(),
        }
    }

    /// What belongs to this row alone, but for its block.
    fn noise(&self, theta: &[f64]) -> f64 {
        self.known + self.own.iter().map(|&(k, square)| square * theta[k].powi(2)).sum::<f64>()
    }
}

/// What is asked: a functional, rows taken for observed, and sets of further rows.
struct Question {
    asked: Resolved,
    base: Vec<Ahead>,
    sets: Vec<Vec<Ahead>>,
}

impl Question {
    fn new(layout: &Layout, asked: &Functional, base: &[Row], sets: &[Vec<Row>]) -> Self {
        let ahead = |rows: &[Row]| rows.iter().map(|row| Ahead::new(row, layout)).collect();
        Self {
            asked: asked.resolve(layout),
            base: ahead(base),
            sets: sets.iter().map(|set| ahead(set)).collect(),
        }
    }

    /// At given spreads, the variance with the base and with each set as well.
    fn answer(&self, layout: &Layout, system: &Conditional, theta: &[f64]) -> Vec<f64> {
        let mut asking = Asking::new(layout);
        asking.load(system, &self.asked);
        let target = asking.c.clone();
        let now = dot(&target, &target) + new_variance(theta, &self.asked);
        let effects = layout.block_spreads.iter().map(|&index| theta[index].powi(2)).collect();
        let mut grown = Grown { target, effects, ..Grown::default() };
        let mut push = |grown: &mut Grown, row: &Ahead| {
            asking.load(system, &row.mean);
            grown.push(row, row.noise(theta), &asking.c);
        };
        self.base.iter().for_each(|row| push(&mut grown, row));
        let before = now - grown.explained();
        let after = self.sets.iter().map(|set| {
            set.iter().for_each(|row| push(&mut grown, row));
            let left = now - grown.explained();
            grown.truncate(self.base.len());
            left
        });
        std::iter::once(before).chain(after).collect()
    }
}

/// The Cholesky factor L of the covariance Σ of the rows so far, and `z = L⁻¹·c`, c their
/// covariances with what is asked: `zᵀz = cᵀΣ⁻¹c` is the variance that they take away.
#[derive(Default)]
struct Grown {
    target: Vec<f64>,
    /// The variances of the block effects.
    effects: Vec<f64>,
    loaded: Vec<(Vec<f64>, InBlock)>,
    factor: Vec<Vec<f64>>,
    z: Vec<f64>,
}

impl Grown {
    /// Adds a row with `c = L⁻¹·(its multipliers)` of the solved system.
    fn push(&mut self, row: &Ahead, noise: f64, c: &[f64]) {
        let own = self.shared(row, &row.block);
        let mut line: Vec<f64> =
            self.loaded.iter().map(|other| dot(c, &other.0) + self.shared(row, &other.1)).collect();
        for j in 0..line.len() {
            line[j] = (line[j] - dot(&line[..j], &self.factor[j][..j])) / self.factor[j][j];
        }
        let pivot = dot(c, c) + own + noise - dot(&line, &line);
        // A row that the others fix without noise says nothing new: divided by infinity it does.
        let root = if pivot > 0.0 { pivot.sqrt() } else { f64::INFINITY };
        self.z.push((dot(c, &self.target) - dot(&line, &self.z)) / root);
        line.push(root);
        self.factor.push(line);
        self.loaded.push((c.to_vec(), row.block.clone()));
    }

    /// The part of two rows' covariance that comes from being of one block.
    fn shared(&self, row: &Ahead, other: &InBlock) -> f64 {
        match (&row.block, other) {
            (Some((level, loads)), Some((same, others))) if level == same => {
                let each = loads.iter().zip(others).zip(&self.effects);
                each.map(|((one, other), variance)| one * other * variance).sum()
            }
            (Some(_) | None, _) => 0.0,
        }
    }

    fn explained(&self) -> f64 {
        dot(&self.z, &self.z)
    }

    fn truncate(&mut self, rows: usize) {
        self.loaded.truncate(rows);
        self.factor.truncate(rows);
        self.z.truncate(rows);
    }
}

impl Posterior {
    /// The variance that `asked` will have once `base` and then each of `sets` are observed,
    /// averaged over the draws of the spreads. Blocks of these rows are new ones: their levels
    /// say only which of them belong together.
    ///
    /// At each draw it is exact: `var(W) − cᵀΣ⁻¹c`, Σ the rows' covariance and c theirs with W.
    /// The draws keep their weights and the spread of their means. Source: docs/model.md, "The
    /// next trial".
    pub fn foresee(&self, asked: &Functional, base: &[Row], sets: &[Vec<Row>]) -> Foreseen {
        let question = Question::new(&self.layout, asked, base, sets);
        let left = in_ranges(self.theta.len(), |range| {
            let mut solver = Solver::new(self);
            let one = |draw| {
                let (system, theta, ..) = solver.at(draw);
                question.answer(&self.layout, system, theta)
            };
            range.map(one).collect()
        });
        let between = between(&self.project(std::slice::from_ref(asked))[0]);
        let mut average = vec![between; 1 + sets.len()];
        for (weight, left) in self.weights.iter().zip(&left) {
            average.iter_mut().zip(left).for_each(|(sum, left)| *sum += weight * left);
        }
        let drawn = self.theta.iter().map(|theta| new_variance(theta, &question.asked));
        let never = self.weights.iter().zip(drawn).map(|(weight, new)| weight * new).sum();
        Foreseen { before: average[0], after: average.split_off(1), never }
    }

    /// As [`Posterior::foresee`], with every spread at its mode: the variances with each set.
    pub fn foresee_at_mode(&self, asked: &Functional, base: &[Row], sets: &[Vec<Row>]) -> Vec<f64> {
        let mut work = Conditional::new(&self.layout);
        work.solve(&self.layout, &self.mode);
        let question = Question::new(&self.layout, asked, base, sets);
        question.answer(&self.layout, &work, &self.mode).split_off(1)
    }
}

/// The variance of the components' means.
fn between(mixture: &Mixture) -> f64 {
    let centre = mixture.mean();
    mixture.components().map(|(weight, mean, _)| weight * (mean - centre).powi(2)).sum()
}

#[cfg(test)]
mod tests {
    use super::super::{
        Belief, CoefficientId, Design, EffectId, GroupEffect, SpreadId, SpreadPrior,
    };
    use super::*;

    struct Model {
        design: Design,
        level: CoefficientId,
        group: EffectId,
        own: SpreadId,
    }

    fn model() -> Model {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(1.0);
        let [group, block, own, tilt] =
            ["group", "block", "own", "tilt"].map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let grouping = design.grouping(2, vec![GroupEffect::Spread(group)]);
        design.block(block);
        design.block(tilt);
        let group = design.effect(grouping, 0);
        Model { design, level, group, own }
    }

    impl Model {
        fn row(&self, group: usize, block: usize, load: f64) -> Row {
            Row {
                variance: 0.1,
                coefficients: vec![(self.level, load)],
                effects: vec![(self.group, group, load)],
                own: vec![(self.own, load)],
                block: Some((block, vec![load, load - 0.8])),
            }
        }

        fn asked(&self) -> Functional {
            Functional::default()
                .plus(self.level, 1.5)
                .plus_effect(self.group, 1, 1.5)
                .plus_new(self.own, 1.5)
        }
    }

    /// The variance at `theta` from a layout with these rows and targets.
    fn refitted(model: &Model, rows: &[Row], targets: &[f64], theta: &[f64]) -> f64 {
        let mut design = model.design.clone();
        rows.iter().for_each(|row| design.push(row.clone()));
        let layout = Layout::new(&design, targets);
        let mut work = Conditional::new(&layout);
        work.solve(&layout, theta);
        let asked = model.asked().resolve(&layout);
        Asking::new(&layout).moment(&work, theta, &asked).sd.powi(2)
    }

    /// With the spreads held, whatever is observed.
    #[test]
    fn a_refit_has_the_variance_that_was_announced() {
        let model = model();
        let seen = [model.row(0, 0, 1.0), model.row(0, 0, 0.7), model.row(1, 1, 2.0)];
        let base = [model.row(1, 7, 1.2)];
        let sets = [
            vec![model.row(1, 8, 1.0), model.row(1, 8, 0.5)],
            vec![model.row(0, 7, 1.0), model.row(1, 9, 3.0)],
            vec![],
        ];
        let mut design = model.design.clone();
        seen.iter().for_each(|row| design.push(row.clone()));
        let layout = Layout::new(&design, &[2.0, 1.0, 3.0]);
        for theta in [[0.5, 0.3, 0.2, 0.7], [1.0, 0.0, 0.4, 0.2], [0.0, 0.6, 0.0, 0.0]] {
            let mut work = Conditional::new(&layout);
            work.solve(&layout, &theta);
            let question = Question::new(&layout, &model.asked(), &base, &sets);
            let announced = question.answer(&layout, &work, &theta).split_off(1);
            for (set, announced) in sets.iter().zip(announced) {
                let rows = [&seen[..], &base, set].concat();
                for y in [-4.0, 11.0] {
                    let targets = [&[2.0, 1.0, 3.0][..], &vec![y; rows.len() - 3]].concat();
                    let found = refitted(&model, &rows, &targets, &theta);
                    assert!((found - announced).abs() < 1e-12, "{found} {announced}");
                }
            }
        }
    }
}
