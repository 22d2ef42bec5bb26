pub(crate) mod command;
pub(crate) mod page;
mod page_edge;
pub(crate) mod page_kept;
mod page_part;
pub(crate) mod page_send;
