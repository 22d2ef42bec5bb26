//! The program without a command, and `tour`.

pub(crate) mod answer_steps;
pub(crate) mod command;
pub(crate) mod command_tour;
pub(crate) mod text;
