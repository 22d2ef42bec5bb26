//! The same arithmetic for several draws of the spreads side by side.
//!
//! In one draw, every addition to a sum waits for the one before it. Eight draws side by side share
//! these waits. Each lane does what a draw alone would do, in the same order, so the answers are
//! the same to the last bit.

/// Number of draws side by side.
pub(crate) const LANES: usize = 8;

/// Σ a·b over the shorter length, in every lane.
pub(crate) fn dots<const N: usize>(a: &[[f64; N]], b: &[[f64; N]]) -> [f64; N] {
    let mut sums = [0.0; N];
    a.iter().zip(b).for_each(|(x, y)| add_product(&mut sums, x, y));
    sums
}

/// Adds `x·y` in every lane.
pub(crate) fn add_product<const N: usize>(to: &mut [f64; N], x: &[f64; N], y: &[f64; N]) {
    (0..N).for_each(|lane| to[lane] += x[lane] * y[lane]);
}

/// Adds `x·times` in every lane.
pub(crate) fn add_times<const N: usize>(to: &mut [f64; N], x: &[f64; N], times: f64) {
    (0..N).for_each(|lane| to[lane] += x[lane] * times);
}

pub(crate) fn each<const N: usize>(of: impl FnMut(usize) -> f64) -> [f64; N] {
    std::array::from_fn(of)
}

/// Transposes up to eight draws into lanes. The last draw fills the unused lanes.
pub(crate) fn side_by_side(draws: &[Vec<f64>]) -> Vec<[f64; LANES]> {
    let numbers = draws.first().map_or(0, Vec::len);
    let lane = |number: usize| each(|lane| draws[lane.min(draws.len() - 1)][number]);
    (0..numbers).map(lane).collect()
}
