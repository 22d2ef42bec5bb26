//! `import`: adds a sheet of trials to the book.

pub(crate) mod command;
mod command_undo;
pub(crate) mod page;
pub(crate) mod text;
