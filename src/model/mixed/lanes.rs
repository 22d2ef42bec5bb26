//! Many functionals asked of one solved system side by side.
//!
//! One functional after the other waits for each sum before it begins the next; eight sums at once
//! wait together. Each lane does what a functional does alone, in the same order, so that the
//! answers are the same to the last bit.

use super::functional::Resolved;
use super::layout::Layout;

/// Functionals side by side.
pub(super) const LANES: usize = 8;

/// Which functionals are asked together: those that begin at nearly the same column, because a
/// lane has nothing to do before its own first column.
pub(super) fn bundles(asked: &[Resolved]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..asked.len()).collect();
    order.sort_by_key(|&index| asked[index].from);
    order.chunks(LANES).map(<[usize]>::to_vec).collect()
}

/// Working memory: for every column one number for each lane.
pub(super) struct Lanes<'a> {
    layout: &'a Layout,
    c: Vec<[f64; LANES]>,
    /// Columns in which any lane has something.
    active: Vec<usize>,
}

impl<'a> Lanes<'a> {
    pub fn new(layout: &'a Layout) -> Self {
        let columns = layout.columns.len();
        Self { layout, c: vec![[0.0; LANES]; columns], active: Vec::with_capacity(columns) }
    }

    /// The columns' numbers of one lane.
    pub fn set(&mut self, lane: usize, column: usize, scaled: f64) {
        self.c[column][lane] += scaled;
    }

    /// Nothing in any lane.
    pub fn clear(&mut self) {
        self.c.fill([0.0; LANES]);
    }

    /// Solves `L·z = c` in every lane; gives `zᵀz` of each. No lane has anything before `from`.
    pub fn squares(&mut self, factor: &[f64], from: usize) -> [f64; LANES] {
        self.layout.envelope.forward_lanes(factor, &mut self.c, from, &mut self.active);
        let mut squares = [0.0; LANES];
        for &column in &self.active {
            squares.iter_mut().zip(&self.c[column]).for_each(|(sum, z)| *sum += z * z);
        }
        squares
    }
}
