//! The entries of a book in one line each, and the pages that list them.

mod answer_log;
mod answer_stock;
mod answer_struck;
pub(crate) mod command_reason;
mod command_starting;
pub(crate) mod page_log;
mod page_log_trial;
pub(crate) mod page_stock;
pub(crate) mod text;
