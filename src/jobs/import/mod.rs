//! `import`: adds a sheet of trials to the book.

pub(crate) mod command;
pub(crate) mod page;
pub(crate) mod text;
