//! Predicts how much of a functional's variance will be left after rows that are not yet observed.
//!
//! Given the spreads everything is Gaussian. So the variance after an observation does not depend
//! on the observed value, and is known in advance. docs/model.md, "The next trial".

use super::asking::{Asking, new_variance};
use super::functional::{Resolved, Together};
use crate::algebra::conditional::{Conditional, Solve};
use crate::algebra::design::Row;
use crate::algebra::envelope::dot;
use crate::algebra::groups::in_groups;
use crate::algebra::lanes::{LANES, add_product, add_times, dots, each};
use crate::algebra::layout::Layout;
use crate::fit::posterior::Posterior;
use crate::parallel::in_ranges;
use crate::{Functional, Mixture};

/// The variance of a functional, now and after rows that are not yet observed.
#[derive(Clone, Debug, PartialEq)]
pub struct Foreseen {
    /// After the base rows.
    pub before: f64,
    /// After the base rows and each set of further rows, in their order.
    pub after: Vec<f64>,
    /// From the functional's own new draws, which no row can reduce.
    pub never: f64,
}

/// The block of a row, with the multipliers of its effects.
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
    fn new(row: &Row, layout: &Layout, together: &mut Together) -> Self {
        let mean = Functional {
            coefficients: row.coefficients.clone(),
            effects: row.effects.clone(),
            ..Functional::default()
        };
        Self {
            mean: mean.resolve_with(layout, together),
            known: row.variance,
            own: row.own.iter().map(|&(id, load)| (id.0, load * load)).collect(),
            block: row.block.clone(),
        }
    }

    /// The variance that belongs to this row alone, without its block.
    fn noise<const N: usize>(&self, squares: &[[f64; N]]) -> [f64; N] {
        let mut noise = [self.known; N];
        self.own.iter().for_each(|&(k, load)| add_times(&mut noise, &squares[k], load));
        noise
    }
}

/// A question: functionals, base rows that are taken as observed, and sets of further rows.
struct Question {
    asked: Vec<Resolved>,
    base: Vec<Ahead>,
    sets: Vec<Vec<Ahead>>,
}

impl Question {
    fn new(layout: &Layout, asked: &[Functional], base: &[Row], sets: &[Vec<Row>]) -> Self {
        let mut together = Together::new();
        let asked = asked.iter().map(|one| one.resolve_with(layout, &mut together)).collect();
        let mut ahead =
            |rows: &[Row]| rows.iter().map(|row| Ahead::new(row, layout, &mut together)).collect();
        Self { asked, base: ahead(base), sets: sets.iter().map(|set| ahead(set)).collect() }
    }

    /// At given spreads, the moments of the functionals, and how the base moves them, alone and
    /// with each set.
    fn ahead<const N: usize>(&self, layout: &Layout, system: &Conditional<N>) -> Moved<N> {
        let mut asking = Asking::new(layout);
        let (mut now, mut targets) = (Vec::new(), Vec::new());
        for asked in &self.asked {
            let mean = asking.load(system, asked);
            let (known, new) = (asking.square(), new_variance(&system.squares, asked));
            now.push((mean, each(|lane| known[lane] + new[lane])));
            targets.push(asking.c.clone());
        }
        let effects = layout.block_spreads.iter().map(|&index| system.squares[index]).collect();
        let mut grown =
            Grown { targets, effects, loaded: Vec::new(), factor: Vec::new(), z: Vec::new() };
        let mut push = |grown: &mut Grown<N>, row: &Ahead| {
            asking.load(system, &row.mean);
            grown.push(row, &row.noise(&system.squares), &asking.c);
        };
        self.base.iter().for_each(|row| push(&mut grown, row));
        let base = grown.z.clone();
        let moves = self.sets.iter().map(|set| {
            set.iter().for_each(|row| push(&mut grown, row));
            let moves = grown.z.clone();
            grown.truncate(self.base.len());
            moves
        });
        Moved { now, moves: moves.collect(), base }
    }

    /// The variance of the only functional after the base, alone and with each set.
    fn variances<const N: usize>(&self, layout: &Layout, system: &Conditional<N>) -> Vec<[f64; N]> {
        let moved = self.ahead(layout, system);
        let all = std::iter::once(&moved.base).chain(&moved.moves);
        all.map(|moves| {
            let mut left = moved.now[0].1;
            moves.iter().for_each(|z| add_product(&mut left, &z[0].map(|z| -z), &z[0]));
            left
        })
        .collect()
    }
}

/// An [`Outlook`] in every lane.
struct Moved<const N: usize> {
    now: Vec<([f64; N], [f64; N])>,
    moves: Vec<Vec<Vec<[f64; N]>>>,
    base: Vec<Vec<[f64; N]>>,
}

impl<const N: usize> Moved<N> {
    fn lane(&self, lane: usize) -> Outlook {
        let of = |one: &Vec<[f64; N]>| one.iter().map(|z| z[lane]).collect();
        Outlook {
            now: self.now.iter().map(|(mean, variance)| (mean[lane], variance[lane])).collect(),
            moves: self.moves.iter().map(|set| set.iter().map(of).collect()).collect(),
        }
    }
}

/// Several functionals at one draw of the spreads, and how rows that are not yet observed will move
/// them.
///
/// An observation is a sum of independent surprises ζ, each standard normal. After it a functional
/// has the mean `mean + Σ moves·ζ` and the variance `variance − Σ moves²`.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// Mean and variance of each functional.
    pub now: Vec<(f64, f64)>,
    /// For each set and each of its surprises, by how much it moves each functional.
    pub moves: Vec<Vec<Vec<f64>>>,
}

impl Outlook {
    /// The variance of a functional after these moves.
    pub fn after(&self, functional: usize, moves: &[Vec<f64>]) -> f64 {
        self.now[functional].1 - moves.iter().map(|each| each[functional].powi(2)).sum::<f64>()
    }
}

/// The Cholesky factor L of the covariance Σ of the rows so far, and for each functional
/// `z = L⁻¹·c`. c are the rows' covariances with the functional, from which they remove the
/// variance `zᵀz = cᵀΣ⁻¹c`.
struct Grown<const N: usize> {
    targets: Vec<Vec<[f64; N]>>,
    /// The variances of the block effects.
    effects: Vec<[f64; N]>,
    loaded: Vec<(Vec<[f64; N]>, InBlock)>,
    factor: Vec<Vec<[f64; N]>>,
    /// For each row, one value per functional.
    z: Vec<Vec<[f64; N]>>,
}

impl<const N: usize> Grown<N> {
    /// Adds a row. `c` is `L⁻¹·(its multipliers)` in the solved system.
    fn push(&mut self, row: &Ahead, noise: &[f64; N], c: &[[f64; N]]) {
        let mut line: Vec<[f64; N]> = (self.loaded.iter())
            .map(|other| sum(&dots(c, &other.0), &self.shared(row, &other.1)))
            .collect();
        for j in 0..line.len() {
            let (before, factor) = (dots(&line[..j], &self.factor[j][..j]), &self.factor[j][j]);
            line[j] = each(|lane| (line[j][lane] - before[lane]) / factor[lane]);
        }
        let whole = sum(&sum(&dots(c, c), &self.shared(row, &row.block)), noise);
        let known = dots(&line, &line);
        // A row that the others determine without noise adds nothing, so divide by infinity.
        let root = each(|lane| match whole[lane] - known[lane] {
            pivot if pivot > 0.0 => pivot.sqrt(),
            _ => f64::INFINITY,
        });
        let moved = |(index, target): (usize, &Vec<[f64; N]>)| {
            let mut known = [0.0; N];
            line.iter().zip(&self.z).for_each(|(l, z)| add_product(&mut known, l, &z[index]));
            let all = dots(c, target);
            each(|lane| (all[lane] - known[lane]) / root[lane])
        };
        let z = self.targets.iter().enumerate().map(moved).collect();
        self.z.push(z);
        line.push(root);
        self.factor.push(line);
        self.loaded.push((c.to_vec(), row.block.clone()));
    }

    /// The part of two rows' covariance that comes from sharing a block.
    fn shared(&self, row: &Ahead, other: &InBlock) -> [f64; N] {
        let mut shared = [0.0; N];
        if let (Some((level, loads)), Some((same, others))) = (&row.block, other)
            && level == same
        {
            for ((one, other), variance) in loads.iter().zip(others).zip(&self.effects) {
                add_times(&mut shared, variance, one * other);
            }
        }
        shared
    }

    fn truncate(&mut self, rows: usize) {
        self.loaded.truncate(rows);
        self.factor.truncate(rows);
        self.z.truncate(rows);
    }
}

fn sum<const N: usize>(one: &[f64; N], other: &[f64; N]) -> [f64; N] {
    each(|lane| one[lane] + other[lane])
}

impl Posterior {
    /// The variance of `asked` after `base` and then each of `sets` are observed, averaged over the
    /// draws of the spreads. These rows belong to new blocks: their levels only say which rows
    /// share one.
    ///
    /// At each draw the variance is exact: `var(W) − cᵀΣ⁻¹c`, Σ the rows' covariance and c theirs
    /// with W. The draws keep their weights and the spread of their means. Source: docs/model.md,
    /// "The next trial".
    pub fn foresee(&self, asked: &Functional, base: &[Row], sets: &[Vec<Row>]) -> Foreseen {
        let question = Question::new(&self.layout, std::slice::from_ref(asked), base, sets);
        let left = in_ranges(self.groups(), |range| {
            let mut solve = Solve::new(&self.layout);
            let one = |group| question.variances(&self.layout, self.group(group, &mut solve));
            range.map(one).collect()
        });
        let between = between(&self.project(std::slice::from_ref(asked))[0]);
        let mut average = vec![between; 1 + sets.len()];
        for (left, weights) in left.iter().zip(self.weights.chunks(LANES)) {
            average.iter_mut().zip(left).for_each(|(sum, left)| *sum += dot(left, weights));
        }
        let asked = &question.asked[0];
        let drawn = self.theta.iter().map(|theta| {
            let new = asked.new.iter().map(|&(k, square)| square * theta[k] * theta[k]);
            asked.variance + new.sum::<f64>()
        });
        let never = self.weights.iter().zip(drawn).map(|(weight, new)| weight * new).sum();
        Foreseen { before: average[0], after: average.split_off(1), never }
    }

    /// As [`Posterior::foresee`], but with every spread at its mode: the variances after each set.
    pub fn foresee_at_mode(&self, asked: &Functional, base: &[Row], sets: &[Vec<Row>]) -> Vec<f64> {
        let mut solve = Solve::new(&self.layout);
        solve.at(&self.mode);
        let question = Question::new(&self.layout, std::slice::from_ref(asked), base, sets);
        question.variances(&self.layout, &solve.system)[1..].iter().map(|left| left[0]).collect()
    }

    /// How each of `sets` will move several functionals together, at `draws` equally weighted draws
    /// of the spreads. The draws are sorted by the standard deviation of the first functional, and
    /// picked at equal steps of their cumulative weight.
    pub fn outlooks(&self, asked: &[Functional], sets: &[Vec<Row>], draws: usize) -> Vec<Outlook> {
        let question = Question::new(&self.layout, asked, &[], sets);
        let chosen = self.stepped(&asked[..asked.len().min(1)], draws);
        let theta: Vec<_> = chosen.iter().map(|&draw| self.theta[draw].clone()).collect();
        let moved =
            in_groups(&self.layout, &theta, |solve, _| question.ahead(&self.layout, &solve.system));
        (0..chosen.len()).map(|at| moved[at / LANES].lane(at % LANES)).collect()
    }

    fn stepped(&self, by: &[Functional], draws: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.weights.len()).collect();
        if let [mixture] = &self.project(by)[..] {
            let sds: Vec<f64> = mixture.components().map(|(_, _, sd)| sd).collect();
            order.sort_by(|&a, &b| sds[a].total_cmp(&sds[b]));
        }
        let (mut sum, mut chosen) = (0.0, Vec::with_capacity(draws));
        for draw in order {
            sum += self.weights[draw];
            while chosen.len() < draws && (chosen.len() as f64 + 0.5) < sum * draws as f64 {
                chosen.push(draw);
            }
        }
        chosen
    }
}

/// The variance of the components' means.
fn between(mixture: &Mixture) -> f64 {
    let centre = mixture.mean();
    mixture.components().map(|(weight, mean, _)| weight * (mean - centre).powi(2)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Belief, CoefficientId, Design, EffectId, GroupEffect, SpreadId, SpreadPrior};

    struct Model {
        design: Design,
        level: CoefficientId,
        slope: CoefficientId,
        group: EffectId,
        own: SpreadId,
    }

    fn model() -> Model {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(1.0);
        let [group, block, own, tilt] =
            ["group", "block", "own", "tilt"].map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let slope = design.coefficient(Belief { mean: 0.2, sd: 0.6 });
        design.correlate(level, slope, 0.7);
        let grouping = design.grouping(2, vec![GroupEffect::Spread(group)]);
        design.block(block);
        design.block(tilt);
        let group = design.effect(grouping, 0);
        Model { design, level, slope, group, own }
    }

    impl Model {
        fn row(&self, group: usize, block: usize, load: f64) -> Row {
            Row {
                variance: 0.1,
                coefficients: vec![(self.level, load), (self.slope, load * load)],
                effects: vec![(self.group, group, load)],
                own: vec![(self.own, load)],
                block: Some((block, vec![load, load - 0.8])),
            }
        }

        fn asked(&self) -> Functional {
            Functional::default()
                .plus(self.level, 1.5)
                .plus(self.slope, 2.0)
                .plus_effect(self.group, 1, 1.5)
                .plus_new(self.own, 1.5)
        }
    }

    /// The variance at `theta` of a layout with these rows and targets.
    fn refitted(model: &Model, rows: &[Row], targets: &[f64], theta: &[f64]) -> f64 {
        let mut design = model.design.clone();
        rows.iter().for_each(|row| design.push(row.clone()));
        let layout = Layout::new(&design, targets);
        let mut solve = Solve::new(&layout);
        solve.at(theta);
        let asked = model.asked().resolve(&layout);
        Asking::new(&layout).moment(&solve.system, &asked).sd[0].powi(2)
    }

    /// The spreads are fixed. The variance must not depend on the observed values.
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
            let mut solve = Solve::new(&layout);
            solve.at(&theta);
            let question = Question::new(&layout, &[model.asked()], &base, &sets);
            let announced = question.variances(&layout, &solve.system).split_off(1);
            for (set, [announced]) in sets.iter().zip(announced) {
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
