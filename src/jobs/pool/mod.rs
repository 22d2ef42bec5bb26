//! `pool`: turns what many benches learnt into beliefs that a new book can start from.

pub mod answer;
pub(crate) mod command;
mod text;
