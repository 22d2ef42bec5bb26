//! The entries of a book in one line each, and the pages that list them.

pub(crate) mod answer_log;
pub(crate) mod answer_stock;
pub(crate) mod answer_struck;
pub(crate) mod command_bereft;
pub(crate) mod command_ids;
pub(crate) mod command_reason;
mod command_starting;
pub(crate) mod page_log;
mod page_log_trial;
pub(crate) mod page_stock;
pub(crate) mod page_where;
pub(crate) mod text;
pub(crate) mod text_changed;
pub(crate) mod text_taught;
