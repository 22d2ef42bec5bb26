//! `beliefs`: what a book believes before its first trial, where that comes from, and how to change
//! it.

pub(crate) mod answer;
pub mod answer_grounds;
pub(crate) mod answer_pooled;
#[cfg(test)]
pub(crate) mod answer_test_pool;
pub(crate) mod command;
pub(crate) mod text;
pub(crate) mod text_grounds;
pub(crate) mod text_names;
