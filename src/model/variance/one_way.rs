//! One-way analysis of variance: within groups of readings, and between groups.

use super::sums::{shifted, squares};
use crate::units::fields;
use serde::{Serialize, Serializer};

/// Below this share of all sums of squares, one is only rounding. Readings of 17 digits leave about
/// 10⁻³² of their squares, and no gauge has the twelve digits that the tolerance would hide.
const ROUNDING: f64 = 1e-24;

/// A sum of squares with its degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SumOfSquares {
    /// The sum of squares, in the square of the readings' unit.
    pub ss: f64,
    pub df: f64,
}

/// For readings in mm, with the mean square added.
impl Serialize for SumOfSquares {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        fields!(serializer, "df": self.df, "ss_mm2": self.ss, "ms_mm2": self.mean_square())
    }
}

impl SumOfSquares {
    /// `SS/df`; `None` without degrees of freedom.
    pub fn mean_square(self) -> Option<f64> {
        (self.df > 0.0).then(|| self.ss / self.df)
    }

    /// Zero if it is only the rounding of sums as large as `all`, so that no ratio is made of it.
    pub fn without_rounding(self, all: f64) -> Self {
        if self.ss <= ROUNDING * all { Self { ss: 0.0, ..self } } else { self }
    }

    /// The ratio of mean squares; `None` if either has no degrees of freedom, or if `other` is
    /// zero.
    pub fn over(self, other: Self) -> Option<f64> {
        let below = other.mean_square().filter(|below| *below > 0.0)?;
        Some(self.mean_square()? / below)
    }
}

/// `y_ij = μ + τ_i + ε_ij`, with groups of any size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneWay {
    /// Between groups: `Σ n_i (ȳ_i − ȳ)²`, a − 1 degrees of freedom.
    pub between: SumOfSquares,
    /// Within groups: `ΣΣ (y_ij − ȳ_i)²`, N − a degrees of freedom.
    pub within: SumOfSquares,
    /// `(N − Σ n_i²/N)/(a − 1)`: the number of readings in a group if all have as many; `None` for
    /// one group.
    pub typical_size: Option<f64>,
}

impl OneWay {
    /// Analyses `values`, each of which belongs to the group numbered in `groups`. Groups without a
    /// value do not count.
    ///
    /// Errors of the sums are of the last digit of a double, relative to the deviations, whatever
    /// leading digits the values share. `None` without values, or if the lists differ in length.
    /// Source: Searle, Casella and McCulloch, *Variance Components* (1992), section 3.6; certified
    /// values: datasets/nist.
    pub fn new(groups: &[usize], values: &[f64]) -> Option<Self> {
        let count = groups.iter().max()? + 1;
        if groups.len() != values.len() {
            return None;
        }
        let mut members: Vec<Vec<(f64, f64)>> = vec![Vec::new(); count];
        for (&group, value) in groups.iter().zip(shifted(values)) {
            members[group].push((1.0, value));
        }
        members.retain(|group| !group.is_empty());
        Some(Self::of_members(&members))
    }

    fn of_members(members: &[Vec<(f64, f64)>]) -> Self {
        let size = |group: &Vec<(f64, f64)>| group.len() as f64;
        let own: Vec<_> = members.iter().map(|group| squares(group)).collect();
        let means: Vec<_> =
            members.iter().zip(&own).map(|(group, (_, mean))| (size(group), *mean)).collect();
        let groups = members.len() as f64;
        let readings: f64 = members.iter().map(size).sum();
        let uneven: f64 = members.iter().map(|group| size(group).powi(2)).sum::<f64>() / readings;
        let within = super::sums::sum(own.iter().map(|(squares, _)| *squares));
        Self {
            between: SumOfSquares { ss: squares(&means).0, df: groups - 1.0 },
            within: SumOfSquares { ss: within, df: readings - groups },
            typical_size: (groups > 1.0).then(|| (readings - uneven) / (groups - 1.0)),
        }
    }

    /// F, between over within.
    pub fn f(self) -> Option<f64> {
        self.between.over(self.within)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_of_any_size_are_analysed() {
        let table = OneWay::new(&[0, 0, 2, 2, 2], &[1.0, 3.0, 4.0, 5.0, 6.0]).unwrap();
        assert_eq!((table.between.df, table.within.df), (1.0, 3.0));
        assert!((table.within.ss - 4.0).abs() < 1e-15 && (table.between.ss - 10.8).abs() < 1e-14);
        assert!((table.typical_size.unwrap() - (5.0 - 13.0 / 5.0)).abs() < 1e-15);
    }

    #[test]
    fn what_does_not_exist_is_none() {
        assert_eq!(OneWay::new(&[], &[]), None);
        assert_eq!(OneWay::new(&[0], &[1.0, 2.0]), None);
        let single = OneWay::new(&[0, 1], &[1.0, 2.0]).unwrap();
        assert_eq!((single.within.mean_square(), single.f()), (None, None));
        let one = OneWay::new(&[0, 0], &[2.0, 2.0]).unwrap();
        assert_eq!((one.typical_size, one.f()), (None, None));
        assert_eq!(one.within.mean_square(), Some(0.0));
    }
}
