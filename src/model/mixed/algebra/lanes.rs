//! The same arithmetic for several draws of the spreads side by side.
//!
//! Of one draw every sum waits for each addition before it begins the next; eight draws wait
//! together. Each lane does what a draw does alone, in the same order, so that the answers are the
//! same to the last bit.

/// Draws side by side.
pub(crate) const LANES: usize = 8;

/// Σ a·b over the shorter of the two, in every lane.
pub(crate) fn dots<const N: usize>(a: &[[f64; N]], b: &[[f64; N]]) -> [f64; N] {
    let mut sums = [0.0; N];
    a.iter().zip(b).for_each(|(x, y)| add_product(&mut sums, x, y));
    sums
}

/// Adds `x·y` in every lane.
pub(crate) fn add_product<const N: usize>(to: &mut [f64; N], x: &[f64; N], y: &[f64; N]) {
    (0..N).for_each(|lane| to[lane] += x[lane] * y[lane]);
}

/// Adds `x` times one number in every lane.
pub(crate) fn add_times<const N: usize>(to: &mut [f64; N], x: &[f64; N], times: f64) {
    (0..N).for_each(|lane| to[lane] += x[lane] * times);
}

/// `of` of each lane.
pub(crate) fn each<const N: usize>(of: impl FnMut(usize) -> f64) -> [f64; N] {
    std::array::from_fn(of)
}

/// Up to eight draws turned into lanes, one number of each draw after the other; the last draw
/// fills up.
pub(crate) fn side_by_side(draws: &[Vec<f64>]) -> Vec<[f64; LANES]> {
    let numbers = draws.first().map_or(0, Vec::len);
    let lane = |number: usize| each(|lane| draws[lane.min(draws.len() - 1)][number]);
    (0..numbers).map(lane).collect()
}
