pub(crate) mod command;
