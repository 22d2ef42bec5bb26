//! `correct`: strikes an entry and writes it again in one step.

mod answer;
pub(crate) mod command;
pub(crate) mod command_entry;
mod command_reading;
pub(crate) mod page;
mod page_parts;
mod page_stock;
mod text;
