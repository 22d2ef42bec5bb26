//! `gauge`: studies how repeatable readings are.

pub(crate) mod command;
pub(crate) mod page;
pub(crate) mod page_said;
pub(crate) mod page_typed;
pub mod text;
