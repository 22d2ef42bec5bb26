//! A forecast that is kept, to be held against the sewing afterwards.

pub(crate) mod answer;
pub(crate) mod answer_options;
pub(crate) mod command;
pub(crate) mod command_save;
pub(crate) mod page_ways;
pub(crate) mod text;
