pub mod answer;
pub(crate) mod answer_changes;
pub(crate) mod answer_rank;
#[cfg(test)]
pub(crate) mod answer_test_choices;
pub(crate) mod answer_view;
pub mod answer_way;
pub(crate) mod command;
pub(crate) mod page;
mod page_listed;
pub(crate) mod text;
pub(crate) mod text_json;
pub(crate) mod text_picture;
#[cfg(test)]
pub(crate) mod text_tests;
