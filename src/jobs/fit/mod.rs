//! `fit`: what the trials have taught.

pub(crate) mod answer;
pub mod answer_bends;
pub mod answer_books;
pub mod answer_check;
pub(crate) mod answer_copies;
pub mod answer_with;
pub(crate) mod command;
pub(crate) mod command_with;
pub(crate) mod text;
pub(crate) mod text_check;
pub(crate) mod text_picture;
#[cfg(test)]
pub(crate) mod text_tests;
pub(crate) mod text_weighed;
pub(crate) mod text_with;
#[cfg(test)]
pub(crate) mod text_with_tests;
