//! Plain figures beside the model: straight lines, least squares, counts of hits.

pub(super) mod binomial;
pub(super) mod lines;
pub(super) mod ordinary;
