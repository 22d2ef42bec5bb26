//! Inverses of small symmetric matrices.

use super::envelope::Envelope;

/// The inverse of a symmetric positive definite matrix with `size` rows, and its log determinant.
/// `None` for any other matrix.
pub fn inverse(size: usize, of: impl Fn(usize, usize) -> f64) -> Option<(Vec<Vec<f64>>, f64)> {
    let envelope = Envelope::new(size, std::iter::once(0..size));
    let lower = (0..size).flat_map(|i| (0..=i).map(move |j| (i, j)));
    let mut factor: Vec<[f64; 1]> = lower.map(|(i, j)| [of(i, j)]).collect();
    let [determinant] = envelope.factorise(&mut factor);
    let column = |at: usize| {
        let mut unit = vec![[0.0]; size];
        unit[at] = [1.0];
        envelope.forward(&factor, &mut unit, at, &mut Vec::new());
        envelope.backward(&factor, &mut unit);
        unit.as_flattened().to_vec()
    };
    determinant.is_finite().then(|| ((0..size).map(column).collect(), determinant))
}
