//! `gauge`: a study of readings.

pub(crate) mod command;
pub mod text;
