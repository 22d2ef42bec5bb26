pub(crate) mod command;
pub(crate) mod page;
