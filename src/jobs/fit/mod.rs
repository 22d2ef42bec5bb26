//! `fit`: what the trials have taught.

pub(crate) mod answer;
pub mod answer_bends;
pub mod answer_check;
pub(crate) mod command;
pub(crate) mod text;
pub(crate) mod text_check;
pub(crate) mod text_picture;
#[cfg(test)]
pub(crate) mod text_tests;
pub(crate) mod text_weighed;
