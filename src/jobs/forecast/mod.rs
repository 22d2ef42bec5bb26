//! The forecast of a planned book, which `predict`, `plan`, `midway` and the bench card show.

pub(crate) mod answer;
pub(crate) mod answer_advice;
pub mod answer_beyond;
pub(crate) mod answer_leaning;
pub(crate) mod answer_percent;
#[cfg(test)]
pub(crate) mod answer_test_plan;
pub mod answer_tried;
pub(crate) mod page_strip;
pub(crate) mod text;
pub(crate) mod text_beyond;
pub(crate) mod text_leaning;
pub(crate) mod text_picture;
pub(crate) mod text_planned;
#[cfg(test)]
pub(crate) mod text_tests;
