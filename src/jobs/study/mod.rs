//! Studies how good readings are, for `gauge` and the report.

pub mod answer;
pub(crate) mod text;
