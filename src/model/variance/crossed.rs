//! Two-way analysis of variance: every operator measured every part, equally often.

use super::one_way::SumOfSquares;
use super::sums::{shifted, squares};

/// `y_ijk = μ + P_i + O_j + (PO)_ij + ε_ijk`, with r readings in every cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossed {
    /// Number of parts, p.
    pub parts: f64,
    /// Number of operators, o.
    pub operators: f64,
    /// Readings in a cell, r.
    pub repeats: f64,
    /// Among parts, p − 1 degrees of freedom.
    pub part: SumOfSquares,
    /// Among operators, o − 1.
    pub operator: SumOfSquares,
    /// Operators by parts, (p − 1)(o − 1).
    pub interaction: SumOfSquares,
    /// Within cells, po(r − 1).
    pub within: SumOfSquares,
}

impl Crossed {
    /// Analyses cells given as `(part, operator, readings)`. Every cell must be there once, and all
    /// must have as many readings. Source: Burdick, Borror and Montgomery, *Journal of Quality
    /// Technology* 35 (2003), 342–354, table 1.
    pub(super) fn new(cells: &[(usize, usize, Vec<f64>)], parts: usize, operators: usize) -> Self {
        let repeats = cells.first().map_or(0, |cell| cell.2.len());
        let all: Vec<f64> = cells.iter().flat_map(|cell| cell.2.iter().copied()).collect();
        let all = shifted(&all);
        let own: Vec<(f64, f64)> =
            all.chunks(repeats.max(1)).map(|cell| even(cell.iter().copied(), 1.0)).collect();
        let mut means = vec![vec![0.0; operators]; parts];
        for ((part, operator, _), (_, mean)) in cells.iter().zip(&own) {
            means[*part][*operator] = *mean;
        }
        let within = super::sums::sum(own.iter().map(|cell| cell.0));
        Self::of_means(&means, repeats as f64, within)
    }

    fn of_means(means: &[Vec<f64>], repeats: f64, within: f64) -> Self {
        let (parts, operators) = (means.len() as f64, means[0].len() as f64);
        let by_part: Vec<f64> = means.iter().map(|row| even(row.iter().copied(), 1.0).1).collect();
        let by_operator: Vec<f64> =
            (0..means[0].len()).map(|one| even(means.iter().map(|row| row[one]), 1.0).1).collect();
        let grand = even(by_part.iter().copied(), 1.0).1;
        let left = means.iter().zip(&by_part).flat_map(|(row, part)| {
            row.iter().zip(&by_operator).map(move |(cell, one)| cell - part - (one - grand))
        });
        let interaction = even(left, repeats).0;
        let of = |ss, df| SumOfSquares { ss, df };
        Self {
            parts,
            operators,
            repeats,
            part: of(even(by_part.iter().copied(), operators * repeats).0, parts - 1.0),
            operator: of(even(by_operator.iter().copied(), parts * repeats).0, operators - 1.0),
            interaction: of(interaction, (parts - 1.0) * (operators - 1.0)),
            within: of(within, parts * operators * (repeats - 1.0)),
        }
    }
}

/// [`squares`] of values with the same weight.
fn even(values: impl Iterator<Item = f64>, weight: f64) -> (f64, f64) {
    squares(&values.map(|value| (weight, value)).collect::<Vec<_>>())
}
