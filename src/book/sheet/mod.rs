//! The flat sheet, as a projection onto entries.

mod facts;
pub(super) mod flat;
mod matching;
pub(super) mod plan;
mod row;
pub(super) mod written;
