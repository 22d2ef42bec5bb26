//! Every trial predicted from the others, in several ways: `fit --compare`, its chart, the report.

pub mod answer;
pub mod answer_doubtful;
pub mod answer_refit;
pub(crate) mod command;
pub mod text;
pub(crate) mod text_standing;
