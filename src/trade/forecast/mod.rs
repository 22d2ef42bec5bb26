//! Kept forecasts, one row each.

pub(super) mod kept;
pub(super) mod plan;
