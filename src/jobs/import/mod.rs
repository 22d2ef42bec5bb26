//! `import`: a sheet of trials.

pub(crate) mod command;
pub(crate) mod text;
