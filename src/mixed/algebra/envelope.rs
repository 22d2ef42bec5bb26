//! Cholesky factorisation of a symmetric positive definite matrix in envelope storage.
//!
//! Row `i` is stored from its first structural nonzero to the diagonal. With groups ordered before
//! the coefficients, the factor has the arrow shape of the design and costs a small fraction of a
//! dense one. So it is not left to a dense library.

use super::lanes::{LANES, add_product, dots, each};
use super::logarithms::LogSum;

/// The shape of the envelope: where each row starts.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Envelope {
    first: Vec<usize>,
    start: Vec<usize>,
    /// For each column, the rows below it that reach it, in one list.
    below: Vec<u32>,
    below_start: Vec<usize>,
}

impl Envelope {
    /// The envelope of a matrix whose columns are coupled within each of the sorted `groups`.
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

    /// Number of rows.
    pub fn size(&self) -> usize {
        self.first.len()
    }

    /// Number of stored elements.
    pub fn len(&self) -> usize {
        self.start.last().copied().unwrap_or(0)
    }

    /// Where element (row, column) is stored. `column` must lie in the envelope and not above the
    /// diagonal.
    pub fn index(&self, row: usize, column: usize) -> usize {
        self.start[row] + column - self.first[row]
    }

    /// Where the storage of a row begins.
    pub fn start(&self, row: usize) -> usize {
        self.start[row]
    }

    /// Column of a row's first structural nonzero.
    pub fn first(&self, row: usize) -> usize {
        self.first[row]
    }

    /// A row of the lower triangle, up to the diagonal.
    pub fn row<'a, T>(&self, values: &'a [T], row: usize) -> &'a [T] {
        &values[self.start[row]..self.start[row + 1]]
    }

    /// Factorises `values` in place into L of `A = L·Lᵀ`, in every lane, and returns `log|A|`. That
    /// is not finite where A is not positive definite.
    pub fn factorise<const N: usize>(&self, values: &mut [[f64; N]]) -> [f64; N] {
        let mut log_determinant = LogSum::new();
        for i in 0..self.size() {
            let (above, rest) = values.split_at_mut(self.start[i]);
            let row = &mut rest[..self.start[i + 1] - self.start[i]];
            let from = self.first[i];
            for j in from..i {
                let left = self.first[j].max(from);
                let other = &above[self.index(j, left)..=self.index(j, j)];
                let (before, diagonal) =
                    (dots(&row[left - from..j - from], other), other[j - left]);
                row[j - from] = each(|lane| (row[j - from][lane] - before[lane]) / diagonal[lane]);
            }
            let (before, last) = row.split_at_mut(i - from);
            let before = dots(before, before);
            let pivot = each(|lane| last[0][lane] - before[lane]);
            log_determinant.add(&pivot);
            last[0] = pivot.map(f64::sqrt);
        }
        log_determinant.value()
    }

    /// The elements of `A⁻¹` that lie in the envelope, from the factor L, in every lane.
    ///
    /// Solves `Lᵀ·A⁻¹ = L⁻¹` column by column from the last. Each element needs only others in the
    /// envelope. Source: Takahashi, Fagan and Chin (1973), "Formation of a sparse bus impedance
    /// matrix".
    pub fn inverse<const N: usize>(&self, factor: &[[f64; N]], inverse: &mut Vec<[f64; N]>) {
        inverse.clear();
        inverse.resize(self.len(), [0.0; N]);
        let (mut column, mut sums) = (Vec::new(), Vec::new());
        for j in (0..self.size()).rev() {
            let (below, shrunk) = (self.below(j), factor[self.index(j, j)].map(f64::recip));
            let place = |&i: &u32| self.index(i as usize, j);
            column.clear();
            column.extend(below.iter().map(|i| each(|lane| factor[place(i)][lane] * shrunk[lane])));
            self.times_inverse(below, &column, inverse, &mut sums);
            let mut own = shrunk.map(|shrunk| shrunk * shrunk);
            for ((at, sum), l) in below.iter().map(place).zip(&sums).zip(&column) {
                inverse[at] = sum.map(|sum| -sum);
                add_product(&mut own, l, sum);
            }
            inverse[self.index(j, j)] = own;
        }
    }

    /// Multiplies the elements of the inverse in these rows and columns by `column`. Each element
    /// off the diagonal is read once and used at both of its positions.
    fn times_inverse<const N: usize>(
        &self,
        rows: &[u32],
        column: &[[f64; N]],
        inverse: &[[f64; N]],
        sums: &mut Vec<[f64; N]>,
    ) {
        sums.clear();
        for (at, (&i, own)) in rows.iter().zip(column).enumerate() {
            let row = self.row(inverse, i as usize);
            let row = &row[rows[0] as usize - self.first[i as usize]..];
            let mut sum = each(|lane| own[lane] * row[row.len() - 1][lane]);
            for ((&k, l), other) in rows[..at].iter().zip(column).zip(sums.iter_mut()) {
                let element = &row[(k - rows[0]) as usize];
                add_product(&mut sum, l, element);
                add_product(other, own, element);
            }
            sums.push(sum);
        }
    }

    /// Solves `L·z = c` in place, in every lane; `c` is zero before `from`. `active` receives the
    /// columns that are nonzero in any lane, in order. Products with zero are skipped, which
    /// changes no sum.
    pub fn forward<const N: usize>(
        &self,
        factor: &[[f64; N]],
        c: &mut [[f64; N]],
        from: usize,
        active: &mut Vec<usize>,
    ) {
        active.clear();
        for i in from..self.size() {
            let (row, first) = (self.row(factor, i), self.first[i]);
            let is_reached = active.last().is_some_and(|&last| first <= last);
            if !is_reached && c[i] == [0.0; N] {
                continue;
            }
            let mut sums = [0.0; N];
            let reached = active.partition_point(|&column| column < first);
            for &column in &active[reached..] {
                add_product(&mut sums, &row[column - first], &c[column]);
            }
            let pivot = row[row.len() - 1];
            c[i] = each(|lane| (c[i][lane] - sums[lane]) / pivot[lane]);
            if c[i] != [0.0; N] {
                active.push(i);
            }
        }
    }

    /// Solves `Lᵀ·x = z` in place, in every lane.
    pub fn backward<const N: usize>(&self, factor: &[[f64; N]], z: &mut [[f64; N]]) {
        for i in (0..self.size()).rev() {
            let row = self.row(factor, i);
            let pivot = row[row.len() - 1];
            let x: [f64; N] = each(|lane| -z[i][lane] / pivot[lane]);
            z[i] = x.map(|x| -x);
            for (value, l) in z[self.first[i]..i].iter_mut().zip(row) {
                add_product(value, &x, l);
            }
        }
    }
}

/// For each column, the rows below it that reach it, and where each column's list begins.
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

/// Σ a·b over the shorter length. Eight partial sums run side by side, so that none waits for
/// another.
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let shorter = a.len().min(b.len());
    let (a, a_rest) = a[..shorter].as_chunks::<LANES>();
    let (b, b_rest) = b[..shorter].as_chunks::<LANES>();
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(x, y)| x * y).sum();
    dots(a, b).iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 4 × 4 arrow: columns 0 and 1 are not coupled with each other.
    const ARROW: [[f64; 4]; 4] =
        [[4.0, 0.0, 1.0, 2.0], [0.0, 5.0, 1.5, 1.0], [1.0, 1.5, 6.0, 0.5], [2.0, 1.0, 0.5, 7.0]];

    /// With whole numbers, no order of the sum rounds.
    #[test]
    fn a_sum_of_products_leaves_nothing_out() {
        let numbers: Vec<f64> = (1..=100).map(f64::from).collect();
        for count in [0, 1, 7, 8, 9, 64, 99] {
            let last = count as f64;
            let squares = last * (last + 1.0) * (2.0 * last + 1.0) / 6.0;
            assert_eq!(dot(&numbers[..count], &numbers), squares);
            assert_eq!(dot(&numbers, &numbers[..count]), squares);
        }
    }

    fn arrow() -> (Envelope, Vec<[f64; 1]>) {
        let groups = [vec![0, 2, 3], vec![1, 2, 3]];
        let envelope = Envelope::new(4, groups.into_iter().map(Vec::into_iter));
        let mut values = vec![[0.0]; envelope.len()];
        for (i, row) in ARROW.iter().enumerate() {
            for (j, &value) in row.iter().enumerate().take(i + 1).skip(envelope.first(i)) {
                values[envelope.index(i, j)] = [value];
            }
        }
        (envelope, values)
    }

    #[test]
    fn a_factor_solves_its_own_system() {
        let (envelope, mut values) = arrow();
        let [log_determinant] = envelope.factorise(&mut values);
        // Determinant by hand: expansion along the first row.
        assert!((log_determinant - 613.0_f64.ln()).abs() < 1e-12, "{}", log_determinant.exp());
        let mut x = ARROW.map(|row| [row.iter().sum()]);
        envelope.forward(&values, &mut x, 0, &mut Vec::new());
        envelope.backward(&values, &mut x);
        assert!(x.iter().all(|[value]| (value - 1.0_f64).abs() < 1e-13), "{x:?}");
    }

    #[test]
    fn the_inverse_in_the_envelope_is_that_of_whole_solves() {
        let (envelope, mut values) = arrow();
        envelope.factorise(&mut values);
        let mut inverse = Vec::new();
        envelope.inverse(&values, &mut inverse);
        for column in 0..4 {
            let mut unit = [[0.0]; 4];
            unit[column] = [1.0];
            envelope.forward(&values, &mut unit, 0, &mut Vec::new());
            envelope.backward(&values, &mut unit);
            for row in (column..4).filter(|&row| envelope.first(row) <= column) {
                let [found] = inverse[envelope.index(row, column)];
                assert!((found - unit[row][0]).abs() < 1e-15, "{row} {column}: {found}");
            }
        }
    }

    #[test]
    fn lanes_do_what_each_does_alone() {
        let (envelope, values) = arrow();
        let times = [1.0, 2.5, 0.3];
        let mut factors: Vec<[f64; 3]> =
            values.iter().map(|[value]| times.map(|times| times * value)).collect();
        let determinants = envelope.factorise(&mut factors);
        let sides = [[0.3, 0.0, -1.7, 0.0], [0.0, 2.0, 0.0, 0.1], [0.0, 0.0, 0.0, 0.7]];
        let lane = |row: usize| [sides[0][row], sides[1][row], sides[2][row]];
        let (mut lanes, mut active) = ([lane(0), lane(1), lane(2), lane(3)], vec![7]);
        envelope.forward(&factors, &mut lanes, 0, &mut active);
        assert_eq!(active, [0, 1, 2, 3]);
        let forward = lanes;
        envelope.backward(&factors, &mut lanes);
        for (side, numbers) in sides.into_iter().enumerate() {
            let mut alone: Vec<[f64; 1]> =
                values.iter().map(|[value]| [times[side] * value]).collect();
            assert_eq!(envelope.factorise(&mut alone), [determinants[side]], "to the last bit");
            let mut c = numbers.map(|number| [number]);
            envelope.forward(&alone, &mut c, 0, &mut active);
            assert_eq!(c, forward.map(|row| [row[side]]));
            envelope.backward(&alone, &mut c);
            assert_eq!(c, lanes.map(|row| [row[side]]));
        }
        let mut last = [[0.0], [0.0], [0.0], [1.0]];
        let alone: Vec<[f64; 1]> = factors.iter().map(|row| [row[0]]).collect();
        envelope.forward(&alone, &mut last, 0, &mut active);
        assert_eq!(active, [3], "what is nothing is passed over");
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused() {
        let (envelope, mut values) = arrow();
        values[0] = [-1.0];
        let mut lanes: Vec<[f64; 2]> = values.iter().map(|&[value]| [value, value]).collect();
        lanes[0][1] = 4.0;
        let [refused, fine] = envelope.factorise(&mut lanes);
        assert!(!refused.is_finite() && fine.is_finite(), "{refused} {fine}");
    }
}
