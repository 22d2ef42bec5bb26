//! Evaluates functionals of a solved system.

use super::functional::{Resolved, Unseen};
use crate::algebra::conditional::Conditional;
use crate::algebra::lanes::{LANES, add_product, add_times, dots, each};
use crate::algebra::layout::Layout;
use std::collections::BTreeSet;

/// Mean and standard deviation of a functional at a draw, in every lane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moment<const N: usize> {
    pub mean: [f64; N],
    pub sd: [f64; N],
}

pub(crate) struct Asking<'a, const N: usize = 1> {
    layout: &'a Layout,
    /// One entry for each column, then one for each effect without rows that was asked for.
    pub(crate) c: Vec<[f64; N]>,
    /// Columns in which `c` is nonzero.
    active: Vec<usize>,
}

impl<'a, const N: usize> Asking<'a, N> {
    pub(crate) fn new(layout: &'a Layout) -> Self {
        let columns = layout.columns.len();
        Self { layout, c: vec![[0.0; N]; columns], active: Vec::with_capacity(columns) }
    }

    pub fn moment(&mut self, system: &Conditional<N>, functional: &Resolved) -> Moment<N> {
        let mean = self.load(system, functional);
        let (known, new) = (self.square(), new_variance(&system.squares, functional));
        Moment { mean, sd: each(|lane| (known[lane] + new[lane]).sqrt()) }
    }

    /// Sets `self.c` to `L⁻¹·c` of the functional and returns the conditional mean.
    pub fn load(&mut self, system: &Conditional<N>, functional: &Resolved) -> [f64; N] {
        self.make_room(std::slice::from_ref(functional));
        self.c.fill([0.0; N]);
        let mut mean = [functional.constant; N];
        for &(column, multiplier) in &functional.entries {
            let scaled = system.scale[column].map(|scale| multiplier * scale);
            add_times(&mut self.c[column], &scaled, 1.0);
            add_product(&mut mean, &scaled, &system.mean[column]);
        }
        let (_, unseen) = self.c.split_at_mut(self.layout.columns.len());
        for one in &functional.unseen {
            add_times(&mut unseen[one.place], &one.sd.at(&system.squares), one.multiplier);
        }
        self.forward(system, functional.from);
        mean
    }

    /// Makes `self.c` long enough for the effects without rows that are asked for.
    pub fn make_room(&mut self, functionals: &[Resolved]) {
        let unseen = functionals.iter().flat_map(|one| &one.unseen);
        let places = unseen.map(|one| one.place + 1).max().unwrap_or(0);
        let room = self.layout.columns.len() + places;
        self.c.resize(room.max(self.c.len()), [0.0; N]);
    }

    /// Solves `L·z = c` in place in `self.c`, which is zero before `from`.
    pub fn forward(&mut self, system: &Conditional<N>, from: usize) {
        self.layout.envelope.forward(&system.factor, &mut self.c, from, &mut self.active);
    }

    /// `zᵀz` of the latest solution.
    pub fn square(&self) -> [f64; N] {
        let mut square = [0.0; N];
        let active = self.active.iter().map(|&column| &self.c[column]);
        let unseen = &self.c[self.layout.columns.len()..];
        active.chain(unseen).for_each(|z| add_product(&mut square, z, z));
        square
    }
}

impl Asking<'_> {
    /// Solves `Lᵀ·x = z` in place in `self.c`.
    pub fn backward(&mut self, system: &Conditional<1>) {
        self.layout.envelope.backward(&system.factor, &mut self.c);
    }
}

/// The few columns, and effects without rows, that many functionals are built from. Their
/// covariances are computed once.
pub(crate) struct Shared {
    columns: Vec<Resolved>,
    /// The multipliers of each functional, by index among the columns.
    each: Vec<Vec<(usize, f64)>>,
}

impl Shared {
    /// The columns of these functionals, which must have been resolved together.
    pub fn of(functionals: &[Resolved], layout: &Layout) -> Self {
        let all = functionals.iter().flat_map(|one| one.entries.iter().map(|entry| entry.0));
        let columns: Vec<usize> = all.collect::<BTreeSet<_>>().into_iter().collect();
        let mut unseen: Vec<Unseen> =
            functionals.iter().flat_map(|one| one.unseen.clone()).collect();
        unseen.sort_by_key(|one| one.place);
        unseen.dedup_by_key(|one| one.place);
        let each = functionals.iter().map(|one| {
            let seen = one.entries.iter();
            let seen = seen.map(|&(column, x)| (columns.partition_point(|&c| c < column), x));
            let unseen = one.unseen.iter().map(|one| (columns.len() + one.place, one.multiplier));
            seen.chain(unseen).collect()
        });
        let each = each.collect();
        let unseen = unseen.into_iter().map(|one| Unseen { multiplier: 1.0, ..one });
        let columns = columns.into_iter().map(|column| (vec![(column, 1.0)], Vec::new()));
        let columns = columns.chain(unseen.map(|one| (Vec::new(), vec![one])));
        let alone = |(entries, unseen)| Resolved::of(entries, unseen, layout);
        Self { columns: columns.map(alone).collect(), each }
    }

    /// The means and covariances of the columns in a solved system.
    pub fn given(&self, asking: &mut Asking<'_, LANES>, system: &Conditional<LANES>) -> Given {
        let loaded: Vec<_> = (self.columns.iter())
            .map(|column| (asking.load(system, column), asking.c.clone()))
            .collect();
        let mut products = Vec::with_capacity(row(loaded.len()));
        for (at, (_, one)) in loaded.iter().enumerate() {
            products.extend(loaded[..=at].iter().zip(&self.columns).map(|((_, other), column)| {
                let from = self.columns[at].from.max(column.from);
                dots(&one[from..], &other[from..])
            }));
        }
        let means = loaded.into_iter().map(|(mean, _)| mean).collect();
        Given { squares: system.squares.clone(), means, products }
    }

    /// The moment of one of the functionals, by its number.
    pub fn moment(&self, given: &Given, number: usize, functional: &Resolved) -> Moment<LANES> {
        let mut mean = [functional.constant; LANES];
        let mut variance = new_variance(&given.squares, functional);
        let entries = &self.each[number];
        for (place, &(at, x)) in entries.iter().enumerate() {
            add_times(&mut mean, &given.means[at], x);
            add_times(&mut variance, given.product(at, at), x * x);
            let before = entries[..place].iter();
            before
                .for_each(|&(to, y)| add_times(&mut variance, given.product(at, to), 2.0 * x * y));
        }
        Moment { mean, sd: variance.map(f64::sqrt) }
    }
}

/// Means and covariances of shared columns at eight draws.
pub(crate) struct Given {
    squares: Vec<[f64; LANES]>,
    means: Vec<[f64; LANES]>,
    /// The covariances, as a lower triangle row by row.
    products: Vec<[f64; LANES]>,
}

impl Given {
    fn product(&self, one: usize, other: usize) -> &[f64; LANES] {
        &self.products[row(one.max(other)) + one.min(other)]
    }
}

/// Where a row of a lower triangle begins.
fn row(at: usize) -> usize {
    at * (at + 1) / 2
}

/// The variance of the functional's own new draws and noise.
pub(crate) fn new_variance<const N: usize>(
    squares: &[[f64; N]],
    functional: &Resolved,
) -> [f64; N] {
    let mut variance = [functional.variance; N];
    let new = functional.new.iter();
    new.for_each(|&(k, square)| add_times(&mut variance, &squares[k], square));
    variance
}

#[cfg(test)]
mod tests {
    use crate::{Belief, Design, Functional, GroupEffect, MixedParams, Row, SpreadPrior};
    use linfa::dataset::DatasetBase;
    use linfa::traits::Fit;
    use ndarray::arr1;

    #[test]
    fn functionals_asked_together_are_what_each_is_alone() {
        let mut design = Design::new();
        let [group, own] =
            ["group", "own"].map(|name| design.spread(name, SpreadPrior::HalfNormal(0.5)));
        let level = design.coefficient(Belief { mean: 1.0, sd: 0.8 });
        let grouping = design.grouping(2, vec![GroupEffect::Spread(group)]);
        let effect = design.effect(grouping, 0);
        let targets = arr1(&[1.9, 1.2, 2.3, 1.4, 2.0]);
        for row in 0..targets.len() {
            design.push(Row {
                variance: 0.02,
                coefficients: vec![(level, 1.0)],
                effects: vec![(effect, row % 2, 1.0)],
                own: vec![(own, 1.0)],
                block: None,
            });
        }
        let fit = MixedParams::new().draws(64).minimum_effective(1.0);
        let fit = fit.fit(&DatasetBase::new(design, targets)).unwrap();
        let asked: Vec<Functional> = (0..20)
            .map(|i| {
                let x = f64::from(i);
                let one = Functional { constant: 0.1 * x, ..Functional::default() };
                one.plus(level, 1.0 + x).plus_effect(effect, 1, 2.0 - x).plus_new(own, 0.1 * x)
            })
            .collect();
        for (one, together) in asked.iter().zip(fit.project_by_columns(&asked)) {
            let alone = fit.project(std::slice::from_ref(one)).remove(0);
            let apart = fit.project_by_columns(std::slice::from_ref(one)).remove(0);
            assert!(apart.components().eq(together.components()), "to the last bit");
            assert!(alone.sd() > 0.1, "{}", alone.sd());
            for ((_, mean, sd), (_, other, other_sd)) in
                alone.components().zip(together.components())
            {
                assert!((mean - other).abs() < 1e-12 * (1.0 + mean.abs()), "{mean} {other}");
                assert!((sd - other_sd).abs() < 1e-12 * (1.0 + sd), "{sd} {other_sd}");
            }
        }
    }
}
