//! A forecast that is kept, as one row.

pub(super) mod kept;
pub(super) mod plan;
