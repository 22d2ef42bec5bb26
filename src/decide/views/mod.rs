//! Finished views: everything that a chart or a page draws, worked out and in order.

pub mod factors;
pub mod history;
pub mod knockdown;
pub mod plan;
