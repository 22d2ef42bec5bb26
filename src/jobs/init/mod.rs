pub(crate) mod command;
mod text;
