//! The spreads: their most probable values, and draws of them.

mod fitting;
pub(super) mod integrate;
pub(super) mod mode;
pub(super) mod moments;
mod of_spread;
pub(super) mod params;
pub(super) mod posterior;
pub(super) mod proposal;
mod ring;
pub(super) mod spread_draws;
pub(super) mod stein;
pub(super) mod surprises;
pub(super) mod trust;
