//! The scale of each spread for the next bench, from many benches. docs/model.md, "Many benches".

use super::likelihood::SPREADS_TABLED;
use super::outlying::{far, weight};

/// The belief about the logarithm of a scale is normal, with this standard deviation.
const BELIEVED: f64 = std::f64::consts::LN_2;
/// Scales are searched for within this factor of common practice's.
const WITHIN: f64 = 16.0;
/// Number of steps in the first, coarse search.
const LOOKS: usize = 128;
/// Least log likelihood of a spread. A lower one would say nothing more, and a likelihood that is
/// all in one place could not be integrated.
const LEAST: f64 = -30.0;
/// The nodes of five-point Gauss–Legendre quadrature on −1 to 1, and their weights. Source:
/// Abramowitz and Stegun, table 25.4 (from memory).
const NODES: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189),
    (-0.538_469_310_105_683, 0.478_628_670_499_366),
    (0.0, 0.568_888_888_888_889),
    (0.538_469_310_105_683, 0.478_628_670_499_366),
    (0.906_179_845_938_664, 0.236_926_885_056_189),
];

/// The log likelihood of one bench's spread at its tabled values.
pub(super) type Table = [f64; SPREADS_TABLED.len()];

/// The points at which a likelihood is evaluated, with the width that each represents.
fn points() -> Vec<(f64, f64)> {
    let cells = SPREADS_TABLED.windows(2);
    let of_cell = |cell: &[f64]| {
        let (middle, half) = (0.5 * (cell[0] + cell[1]), 0.5 * (cell[1] - cell[0]));
        NODES.map(|(node, weight)| (middle + half * node, half * weight))
    };
    cells.flat_map(of_cell).collect()
}

/// The likelihoods of a table at the points. Between the table's values, its logarithm is linear.
fn likelihoods(table: &Table) -> Vec<f64> {
    let table = table.map(|log| log.max(LEAST));
    let cells = table.windows(2);
    let of_cell = |cell: &[f64]| {
        NODES.map(|(node, _)| {
            let share = 0.5 * (1.0 + node);
            ((1.0 - share) * cell[0] + share * cell[1]).exp()
        })
    };
    cells.flat_map(of_cell).chain([table[table.len() - 1].exp()]).collect()
}

/// The probability that a half-normal with this scale gives to every point, and beyond the last.
fn shares(points: &[(f64, f64)], scale: f64) -> Vec<f64> {
    let density =
        |x: f64| (-0.5 * (x / scale).powi(2)).exp() * (2.0 / std::f64::consts::PI).sqrt() / scale;
    let mut shares: Vec<f64> = points.iter().map(|&(x, width)| width * density(x)).collect();
    // Together with the part beyond they sum to one.
    let within: f64 = shares.iter().sum();
    shares.iter_mut().for_each(|share| *share /= within.max(1.0));
    shares.push((1.0 - within).max(0.0));
    shares
}

fn log_marginal(likelihoods: &[f64], shares: &[f64]) -> f64 {
    let sum: f64 = likelihoods.iter().zip(shares).map(|(a, b)| a * b).sum();
    sum.max(f64::MIN_POSITIVE).ln()
}

/// The scale of a spread, and the weight of each bench for it.
pub(super) fn scale(common: f64, tables: &[&Table]) -> (f64, Vec<f64>) {
    if tables.iter().all(|table| table.iter().all(|log| *log == 0.0)) {
        return (common, vec![1.0; tables.len()]);
    }
    let all: Vec<Vec<f64>> = tables.iter().map(|table| likelihoods(table)).collect();
    let points = points();
    let at = |step: usize| (2.0 * step as f64 / LOOKS as f64 - 1.0) * WITHIN.ln();
    let looks: Vec<Vec<f64>> =
        (0..=LOOKS).map(|step| shares(&points, common * at(step).exp())).collect();
    // One row per bench, one number per step of the coarse search.
    let logs: Vec<Vec<f64>> =
        all.iter().map(|own| looks.iter().map(|look| log_marginal(own, look)).collect()).collect();
    let weights = weights(&logs, &(0..=LOOKS).map(at).collect::<Vec<_>>());
    let posterior = |x: f64| {
        let shares = shares(&points, common * x.exp());
        let each = all.iter().zip(&weights);
        each.map(|(own, weight)| weight * log_marginal(own, &shares)).sum::<f64>() + believed(x)
    };
    let best = top(&totals(&logs, &weights), LOOKS, at);
    let step = at(1) - at(0);
    (common * golden(posterior, best - step, best + step).exp(), weights)
}

fn believed(x: f64) -> f64 {
    -0.5 * (x / BELIEVED).powi(2)
}

fn totals(logs: &[Vec<f64>], weights: &[f64]) -> Vec<f64> {
    let mut totals = vec![0.0; LOOKS + 1];
    for (own, weight) in logs.iter().zip(weights) {
        totals.iter_mut().zip(own).for_each(|(total, log)| *total += weight * log);
    }
    totals
}

/// The step at which the total and the belief together are greatest.
fn top(totals: &[f64], last: usize, at: impl Fn(usize) -> f64) -> f64 {
    let value = |step: usize| totals[step] + believed(at(step));
    let best = (0..=last).max_by(|&a, &b| value(a).total_cmp(&value(b)));
    at(best.unwrap_or(last / 2))
}

/// The weight of each bench: one, unless its table makes the scale of the others far less likely
/// than the scale that suits it best.
fn weights(logs: &[Vec<f64>], at: &[f64]) -> Vec<f64> {
    let ones = vec![1.0; logs.len()];
    let totals = totals(logs, &ones);
    let far = far(logs.len(), 1);
    let one = |own: &Vec<f64>| {
        let value = |step: usize| totals[step] - own[step] + believed(at[step]);
        let of_others = (0..=LOOKS).max_by(|&a, &b| value(a).total_cmp(&value(b)));
        let of_others = own[of_others.unwrap_or(LOOKS / 2)];
        let best = own.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        weight(2.0 * (best - of_others), far)
    };
    logs.iter().map(one).collect()
}

/// Where the value between two bounds is greatest, by golden sections. It must have a single peak.
fn golden(value: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let share = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut a, mut b) = (high - share * (high - low), low + share * (high - low));
    let (mut at_a, mut at_b) = (value(a), value(b));
    for _ in 0..40 {
        if at_a >= at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - share * (high - low);
            at_a = value(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + share * (high - low);
            at_b = value(b);
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five nodes of Gauss and Legendre integrate polynomials up to degree nine without error.
    #[test]
    fn the_nodes_integrate_powers_up_to_the_ninth() {
        for power in 0..10 {
            let exact = if power % 2 == 0 { 2.0 / f64::from(power + 1) } else { 0.0 };
            let sum: f64 = NODES.iter().map(|(node, weight)| weight * node.powi(power)).sum();
            assert!((sum - exact).abs() < 1e-14, "{power}: {sum} {exact}");
        }
    }
}
