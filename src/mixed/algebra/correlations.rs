//! Correlations of the coefficients before the data.

use super::inverse::inverse;
use crate::MixedError;
use std::collections::BTreeMap;

/// Share of a coefficient's variance that the others must leave to it. With less, rounding shows in
/// the results.
pub const LEAST_LEFT: f64 = 1e-8;

/// The nonzero correlations, each stored once, with the lower coefficient first.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Correlations(BTreeMap<(usize, usize), f64>);

/// The precision of correlated unknowns, and the log determinant of their correlations.
pub(crate) type Precision = (Vec<Vec<f64>>, f64);

impl Correlations {
    /// Sets the correlation of two coefficients, replacing any earlier one.
    pub fn set(&mut self, one: usize, other: usize, correlation: f64) {
        let pair = (one.min(other), one.max(other));
        self.0.remove(&pair);
        if correlation != 0.0 {
            self.0.insert(pair, correlation);
        }
    }

    /// The coefficients that are correlated with any other, in order.
    pub fn coefficients(&self) -> Vec<usize> {
        let mut all: Vec<usize> = self.0.keys().flat_map(|pair| [pair.0, pair.1]).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// `Γ⁻¹` and `log|Γ|` of these coefficients, Γ their correlation matrix.
    ///
    /// # Errors
    /// [`MixedError::Correlations`] if Γ is not positive definite, or is nearly singular.
    pub fn precision(&self, coefficients: &[usize]) -> Result<Precision, MixedError> {
        let of = |i: usize, j: usize| {
            let pair = (coefficients[i.min(j)], coefficients[i.max(j)]);
            if i == j { 1.0 } else { self.0.get(&pair).copied().unwrap_or(0.0) }
        };
        let found = precision_of(coefficients.len(), of);
        found.map_err(|at| MixedError::Correlations { coefficient: coefficients[at] })
    }

    /// Checks that these can be the correlations of `coefficients` coefficients.
    ///
    /// # Errors
    /// [`MixedError::Correlations`] for the first impossible one.
    pub fn check(&self, coefficients: usize) -> Result<(), MixedError> {
        let possible = |&(one, other): &(usize, usize), correlation: f64| {
            one != other && other < coefficients && correlation.abs() < 1.0
        };
        match self.0.iter().find(|(pair, correlation)| !possible(pair, **correlation)) {
            Some((&(_, coefficient), _)) => Err(MixedError::Correlations { coefficient }),
            None => self.precision(&self.coefficients()).map(|_| ()),
        }
    }
}

/// The inverse of a correlation matrix with `size` rows, and its log determinant.
///
/// # Errors
/// The index of a number whose variance the others contradict, or of which they leave less than
/// [`LEAST_LEFT`]: `1/(Γ⁻¹)_ii` is the share left of number i.
pub fn precision_of(size: usize, of: impl Fn(usize, usize) -> f64) -> Result<Precision, usize> {
    let Some((precision, determinant)) = inverse(size, &of) else {
        let broken = (1..=size).find(|&rows| inverse(rows, &of).is_none());
        return Err(broken.unwrap_or(size) - 1);
    };
    let most = |i: &usize, j: &usize| precision[*i][*i].total_cmp(&precision[*j][*j]);
    match (0..size).max_by(most) {
        Some(at) if precision[at][at] * LEAST_LEFT > 1.0 => Err(at),
        _ => Ok((precision, determinant)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::algebra::conditional::Solve;
    use crate::algebra::layout::Layout;
    use crate::ask::asking::Asking;
    use crate::{Belief, CoefficientId, Design, Functional, GroupEffect, Row, SpreadPrior};

    const MEANS: [f64; 3] = [1.0, -0.3, 0.2];
    const SDS: [f64; 3] = [2.0, 0.7, 0.1];
    const THETA: [f64; 3] = [0.4, 0.3, 0.2];

    /// The multipliers of the three coefficients in a row.
    fn loads(row: usize) -> [f64; 3] {
        let at = row as f64;
        [1.0 + 0.1 * at, (row * 7 % 5) as f64 - 1.5, if row.is_multiple_of(3) { 2.0 } else { 0.0 }]
    }

    fn target(row: usize) -> f64 {
        (1.7 * row as f64).sin() + loads(row)[0]
    }

    /// A design of `rows` rows in groups and blocks, with these beliefs about its coefficients and
    /// these multipliers in each row.
    fn design(
        beliefs: [Belief; 3],
        rows: usize,
        loads: impl Fn(usize) -> [f64; 3],
    ) -> (Design, [CoefficientId; 3]) {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(0.5);
        let [group, block, own] = ["group", "block", "own"].map(|name| design.spread(name, prior));
        let coefficients = beliefs.map(|belief| design.coefficient(belief));
        let groups = design.grouping(3, vec![GroupEffect::Spread(group)]);
        let effect = design.effect(groups, 0);
        design.block(block);
        for row in 0..rows {
            design.push(Row {
                variance: 0.02,
                coefficients: coefficients.into_iter().zip(loads(row)).collect(),
                effects: vec![(effect, row % 3, 1.0)],
                own: vec![(own, 1.0)],
                block: Some((row / 3, vec![1.0])),
            });
        }
        (design, coefficients)
    }

    fn correlated(rows: usize, [ab, ac, bc]: [f64; 3]) -> (Design, [CoefficientId; 3]) {
        let beliefs = std::array::from_fn(|at| Belief { mean: MEANS[at], sd: SDS[at] });
        let (mut design, ids) = design(beliefs, rows, loads);
        let [a, b, c] = ids;
        for (one, other, correlation) in [(a, b, ab), (c, a, ac), (b, c, bc)] {
            design.correlate(one, other, correlation);
        }
        (design, ids)
    }

    /// The lower triangle C of `C·Cᵀ = Γ`, by hand.
    fn root([ab, ac, bc]: [f64; 3]) -> [[f64; 3]; 3] {
        let second = (1.0 - ab * ab).sqrt();
        let through = (bc - ab * ac) / second;
        let third = (1.0 - ac * ac - through * through).sqrt();
        [[1.0, 0.0, 0.0], [ab, second, 0.0], [ac, through, third]]
    }

    /// The same design, with coefficients built from three independent standard normal ones.
    fn made_of_independent(rows: usize, correlations: [f64; 3]) -> (Design, [[f64; 3]; 3]) {
        let root = root(correlations);
        let scaled: [[f64; 3]; 3] =
            std::array::from_fn(|i| std::array::from_fn(|j| SDS[i] * root[i][j]));
        let loads = |row: usize| {
            let own = loads(row);
            std::array::from_fn(|j| (0..3).map(|i| own[i] * scaled[i][j]).sum())
        };
        (design([Belief { mean: 0.0, sd: 1.0 }; 3], rows, loads).0, scaled)
    }

    fn solved<'a>(layout: &'a Layout, asked: &[Functional]) -> (f64, Vec<(f64, f64)>, Solve<'a>) {
        let mut solve = Solve::new(layout);
        let likelihood = solve.at(&THETA);
        let mut asking = Asking::new(layout);
        let moments = asked.iter().map(|one| {
            let moment = asking.moment(&solve.system, &one.resolve(layout));
            (moment.mean[0], moment.sd[0])
        });
        let moments = moments.collect();
        (likelihood, moments, solve)
    }

    /// Correlated coefficients are sums of independent ones, so both designs must have the same
    /// likelihood and the same answers. Returns the largest difference.
    fn apart(rows: usize, correlations: [f64; 3]) -> f64 {
        let (one, ids) = correlated(rows, correlations);
        one.check().unwrap();
        let (other, scaled) = made_of_independent(rows, correlations);
        let targets: Vec<f64> = (0..rows).map(target).collect();
        let centred: Vec<f64> = (0..rows)
            .map(|row| target(row) - (0..3).map(|i| loads(row)[i] * MEANS[i]).sum::<f64>())
            .collect();
        let asked: Vec<Functional> =
            ids.iter().map(|&id| Functional::default().plus(id, 1.0)).collect();
        let same: Vec<Functional> = (0..3)
            .map(|i| {
                let constant = Functional { constant: MEANS[i], ..Functional::default() };
                (0..3).fold(constant, |sum, j| sum.plus(ids[j], scaled[i][j]))
            })
            .collect();
        let (one, other) = (Layout::new(&one, &targets), Layout::new(&other, &centred));
        let (ours, theirs) = (solved(&one, &asked), solved(&other, &same));
        let each = ours.1.iter().zip(&theirs.1);
        let moments = each.map(|(a, b)| (a.0 - b.0).abs().max((a.1 - b.1).abs()) / b.1);
        moments.fold((ours.0 - theirs.0).abs(), f64::max)
    }

    #[test]
    fn correlated_coefficients_are_sums_of_independent_ones() {
        for correlations in [[0.6, 0.0, 0.0], [0.9, -0.5, -0.3], [-0.99, 0.9, -0.9]] {
            for rows in [0, 1, 13] {
                let apart = apart(rows, correlations);
                assert!(apart < 1e-11, "{correlations:?}, {rows} rows: {apart}");
            }
        }
    }

    /// As strongly correlated as allowed: 16 digits less the 8 that the correlation costs.
    #[test]
    fn what_is_hardly_left_open_is_worked_out_all_the_same() {
        let correlation = (1.0 - 2.0 * LEAST_LEFT).sqrt();
        let apart = apart(13, [correlation, 0.0, 0.0]);
        assert!(apart < 1e-8, "{apart}");
    }

    #[test]
    fn correlations_of_zero_change_no_bit() {
        let targets: Vec<f64> = (0..13).map(target).collect();
        let [with, without] = [true, false].map(|given| {
            let (mut design, [a, b, c]) = correlated(13, [0.0; 3]);
            if given {
                design.correlate(a, b, 0.7);
                design.correlate(b, a, 0.0);
                design.correlate(a, c, -0.0);
            }
            Layout::new(&design, &targets)
        });
        assert_eq!(with.envelope, without.envelope);
        let [mut one, mut other] = [&with, &without].map(|layout| solved(layout, &[]));
        assert_eq!(one.0.to_bits(), other.0.to_bits());
        assert_eq!(one.2.system.factor, other.2.system.factor);
        assert_eq!(one.2.system.mean, other.2.system.mean);
        assert_eq!(one.2.slopes(), other.2.slopes());
    }

    #[test]
    fn a_correlation_reaches_a_coefficient_that_no_row_has() {
        let (mut design, [a, ..]) = correlated(13, [0.0; 3]);
        let unseen = design.coefficient(Belief { mean: 5.0, sd: 3.0 });
        design.correlate(unseen, a, 0.8);
        let targets: Vec<f64> = (0..13).map(target).collect();
        let layout = Layout::new(&design, &targets);
        let asked = [a, unseen].map(|id| Functional::default().plus(id, 1.0));
        let (_, moments, _) = solved(&layout, &asked);
        let [(mean, sd), (other, other_sd)] = [moments[0], moments[1]];
        // By the normal regression of one on the other: slope 0.8·3/2, and 3²·(1 − 0.8²) left.
        let slope = 0.8 * 3.0 / 2.0;
        assert!((other - (5.0 + slope * (mean - 1.0))).abs() < 1e-12, "{other}");
        let left = (9.0 * (1.0 - 0.64) + slope * slope * sd * sd).sqrt();
        assert!((other_sd - left).abs() < 1e-12, "{other_sd} {left}");
    }

    #[test]
    fn what_cannot_be_correlations_is_refused() {
        let refused = |correlations| match correlated(0, correlations).0.check() {
            Err(MixedError::Correlations { coefficient }) => coefficient,
            other => panic!("{other:?}"),
        };
        assert_eq!(refused([1.0, 0.0, 0.0]), 1);
        assert_eq!(refused([0.0, f64::NAN, 0.0]), 2);
        assert_eq!(refused([0.0, 0.0, 1.5]), 2);
        // If two coefficients go together, a third cannot go with one and against the other.
        assert_eq!(refused([0.9, 0.9, -0.9]), 2);
        let hardly = (1.0 - 0.5 * LEAST_LEFT).sqrt();
        assert!(refused([hardly, 0.0, 0.0]) < 2);
        let (mut design, [a, ..]) = correlated(0, [0.0; 3]);
        design.correlate(a, a, 0.5);
        assert!(design.check().is_err());
    }
}
