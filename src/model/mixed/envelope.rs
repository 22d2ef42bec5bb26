//! Cholesky factorisation of a symmetric positive definite matrix in envelope storage.
//!
//! Row `i` is kept from its first structural nonzero to the diagonal. With groups ordered before
//! the coefficients the factor has the arrow shape of the design and costs a small fraction of
//! the dense one, which is why it is not left to a dense library.

/// The shape: where each row starts.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Envelope {
    first: Vec<usize>,
    start: Vec<usize>,
    /// For every column the rows below it that reach it, one after the other.
    below: Vec<u32>,
    below_start: Vec<usize>,
}

impl Envelope {
    /// The envelope of a matrix whose columns couple within each of the sorted `groups`.
    pub fn new<G: Iterator<Item = usize>>(size: usize, groups: impl Iterator<Item = G>) -> Self {
        let mut first: Vec<usize> = (0..size).collect();
        for mut group in groups {
            if let Some(least) = group.next() {
                group.for_each(|column| first[column] = first[column].min(least));
            }
        }
        let mut start = Vec::with_capacity(size);
        let mut at = 0;
        for (row, &from) in first.iter().enumerate() {
            start.push(at);
            at += row - from + 1;
        }
        start.push(at);
        let (below, below_start) = below(&first);
        Self { first, start, below, below_start }
    }

    fn below(&self, column: usize) -> &[u32] {
        &self.below[self.below_start[column]..self.below_start[column + 1]]
    }

    /// Rows of the matrix.
    pub fn size(&self) -> usize {
        self.first.len()
    }

    /// Numbers kept.
    pub fn len(&self) -> usize {
        self.start.last().copied().unwrap_or(0)
    }

    /// Where element (row, column) is kept; `column` lies in the envelope and not above the
    /// diagonal.
    pub fn index(&self, row: usize, column: usize) -> usize {
        self.start[row] + column - self.first[row]
    }

    /// Where a row begins.
    pub fn start(&self, row: usize) -> usize {
        self.start[row]
    }

    /// First structural nonzero of a row.
    pub fn first(&self, row: usize) -> usize {
        self.first[row]
    }

    /// A row of the lower triangle, up to the diagonal.
    pub fn row<'a>(&self, values: &'a [f64], row: usize) -> &'a [f64] {
        &values[self.start[row]..self.start[row + 1]]
    }

    /// Factorises `values` in place into L of `A = L·Lᵀ`; gives `log|A|`, or `None` where A is
    /// not positive definite.
    pub fn factorise(&self, values: &mut [f64]) -> Option<f64> {
        let mut log_determinant = 0.0;
        for i in 0..self.size() {
            let (above, rest) = values.split_at_mut(self.start[i]);
            let row = &mut rest[..self.start[i + 1] - self.start[i]];
            let from = self.first[i];
            for j in from..i {
                let left = self.first[j].max(from);
                let other = &above[self.index(j, left)..=self.index(j, j)];
                let (tail, diagonal) = (&other[..j - left], other[j - left]);
                row[j - from] = (row[j - from] - dot(&row[left - from..j - from], tail)) / diagonal;
            }
            let (before, last) = row.split_at_mut(i - from);
            let pivot = last[0] - dot(before, before);
            if !(pivot > 0.0 && pivot.is_finite()) {
                return None;
            }
            last[0] = pivot.sqrt();
            log_determinant += pivot.ln();
        }
        Some(log_determinant)
    }

    /// The elements of `A⁻¹` that lie in the envelope, from the factor L.
    ///
    /// From `Lᵀ·A⁻¹ = L⁻¹`, column by column from the last: every element needs only such as lie in
    /// the envelope. Source: Takahashi, Fagan and Chin (1973), "Formation of a sparse bus impedance
    /// matrix".
    pub fn inverse(&self, factor: &[f64], inverse: &mut Vec<f64>) {
        inverse.clear();
        inverse.resize(self.len(), 0.0);
        for j in (0..self.size()).rev() {
            let pivot = factor[self.index(j, j)];
            let below = self.below(j);
            let mut own = 1.0 / pivot;
            for &i in below {
                let i = i as usize;
                let through = below.iter().map(|&k| {
                    let k = k as usize;
                    factor[self.index(k, j)] * inverse[self.index(i.max(k), i.min(k))]
                });
                let value = -through.sum::<f64>() / pivot;
                inverse[self.index(i, j)] = value;
            }
            for &k in below {
                own -= factor[self.index(k as usize, j)] * inverse[self.index(k as usize, j)];
            }
            inverse[self.index(j, j)] = own / pivot;
        }
    }

    /// Solves `L·z = c` in place; `c` is zero before `from`.
    pub fn forward(&self, factor: &[f64], c: &mut [f64], from: usize) {
        for i in from..self.size() {
            let row = self.row(factor, i);
            let left = self.first[i].max(from);
            let part = &row[left - self.first[i]..row.len() - 1];
            c[i] = (c[i] - dot(part, &c[left..i])) / row[row.len() - 1];
        }
    }

    /// As [`Envelope::forward`] for several right sides at once, each in its own lane; `active`
    /// takes the columns in which any lane has something, in their order. Nothing times anything
    /// is passed over, which changes no sum.
    pub fn forward_lanes<const N: usize>(
        &self,
        factor: &[f64],
        c: &mut [[f64; N]],
        from: usize,
        active: &mut Vec<usize>,
    ) {
        active.clear();
        for i in from..self.size() {
            let (row, first) = (self.row(factor, i), self.first[i]);
            let mut sums = [0.0; N];
            let reached = active.partition_point(|&column| column < first);
            for &column in &active[reached..] {
                let l = row[column - first];
                sums.iter_mut().zip(&c[column]).for_each(|(sum, z)| *sum += l * z);
            }
            let pivot = row[row.len() - 1];
            c[i].iter_mut().zip(sums).for_each(|(value, sum)| *value = (*value - sum) / pivot);
            if c[i] != [0.0; N] {
                active.push(i);
            }
        }
    }

    /// Solves `Lᵀ·x = z` in place.
    pub fn backward(&self, factor: &[f64], z: &mut [f64]) {
        for i in (0..self.size()).rev() {
            let row = self.row(factor, i);
            let x = z[i] / row[row.len() - 1];
            z[i] = x;
            let left = self.first[i];
            for (value, l) in z[left..i].iter_mut().zip(row) {
                *value -= x * l;
            }
        }
    }
}

/// For every column the rows below it that begin at it or before, and where each column's begin.
fn below(first: &[usize]) -> (Vec<u32>, Vec<usize>) {
    let mut starts = vec![0; first.len() + 1];
    for (row, &from) in first.iter().enumerate() {
        (from..row).for_each(|column| starts[column + 1] += 1);
    }
    (0..first.len()).for_each(|column| starts[column + 1] += starts[column]);
    let (mut below, mut next) = (vec![0; starts[first.len()]], starts.clone());
    for (row, &from) in first.iter().enumerate() {
        for next in &mut next[from..row] {
            below[*next] = row as u32;
            *next += 1;
        }
    }
    (below, starts)
}

/// Σ a·b over the shorter of the two.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 4 × 4 arrow: columns 0 and 1 are not coupled with each other.
    fn arrow() -> (Envelope, Vec<f64>) {
        let groups = [vec![0, 2, 3], vec![1, 2, 3]];
        let envelope = Envelope::new(4, groups.into_iter().map(Vec::into_iter));
        let mut values = vec![0.0; envelope.len()];
        let dense = [
            [4.0, 0.0, 1.0, 2.0],
            [0.0, 5.0, 1.5, 1.0],
            [1.0, 1.5, 6.0, 0.5],
            [2.0, 1.0, 0.5, 7.0],
        ];
        for (i, row) in dense.iter().enumerate() {
            for (j, &value) in row.iter().enumerate().take(i + 1).skip(envelope.first(i)) {
                values[envelope.index(i, j)] = value;
            }
        }
        (envelope, values)
    }

    #[test]
    fn a_factor_solves_its_own_system() {
        let (envelope, mut values) = arrow();
        let log_determinant = envelope.factorise(&mut values).unwrap();
        // Determinant by hand: expansion along the first row.
        assert!((log_determinant - 613.0_f64.ln()).abs() < 1e-12, "{}", log_determinant.exp());
        let mut x =
            vec![4.0 + 1.0 + 2.0, 5.0 + 1.5 + 1.0, 1.0 + 1.5 + 6.0 + 0.5, 2.0 + 1.0 + 0.5 + 7.0];
        envelope.forward(&values, &mut x, 0);
        envelope.backward(&values, &mut x);
        assert!(x.iter().all(|value| (value - 1.0).abs() < 1e-13), "{x:?}");
    }

    #[test]
    fn the_inverse_in_the_envelope_is_that_of_whole_solves() {
        let (envelope, mut values) = arrow();
        envelope.factorise(&mut values).unwrap();
        let mut inverse = Vec::new();
        envelope.inverse(&values, &mut inverse);
        for column in 0..4 {
            let mut unit = vec![0.0; 4];
            unit[column] = 1.0;
            envelope.forward(&values, &mut unit, 0);
            envelope.backward(&values, &mut unit);
            for row in (column..4).filter(|&row| envelope.first(row) <= column) {
                let found = inverse[envelope.index(row, column)];
                assert!((found - unit[row]).abs() < 1e-15, "{row} {column}: {found}");
            }
        }
    }

    #[test]
    fn lanes_do_what_each_does_alone() {
        let (envelope, mut values) = arrow();
        envelope.factorise(&mut values).unwrap();
        let sides = [[0.3, 0.0, -1.7, 0.0], [0.0, 2.0, 0.0, 0.1], [0.0, 0.0, 0.0, 0.7]];
        let lane = |row: usize| [sides[0][row], sides[1][row], sides[2][row]];
        let mut lanes = [lane(0), lane(1), lane(2), lane(3)];
        let mut active = vec![7];
        envelope.forward_lanes(&values, &mut lanes, 0, &mut active);
        for (side, mut alone) in sides.into_iter().enumerate() {
            envelope.forward(&values, &mut alone, 0);
            assert_eq!(lanes.map(|row| row[side]), alone, "to the last bit");
        }
        assert_eq!(active, [0, 1, 2, 3]);
        let mut last = [[0.0], [0.0], [0.0], [1.0]];
        envelope.forward_lanes(&values, &mut last, 0, &mut active);
        assert_eq!(active, [3]);
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused() {
        let (envelope, mut values) = arrow();
        values[0] = -1.0;
        assert_eq!(envelope.factorise(&mut values), None);
    }
}
