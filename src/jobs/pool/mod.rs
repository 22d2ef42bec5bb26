//! `pool`: what many benches learnt, as the beliefs that a new book can start from.

pub mod answer;
pub(crate) mod command;
mod text;
