//! `import`: a sheet of trials.

pub(crate) mod command;
mod command_undo;
pub(crate) mod page;
pub(crate) mod page_template;
pub(crate) mod text;
