pub(crate) mod answer;
pub(crate) mod answer_doubt;
pub(crate) mod answer_stock;
pub(crate) mod answer_trial;
pub(crate) mod command;
mod text;
mod text_stock;
mod text_table;
mod text_trial;
