pub(crate) mod answer;
pub(crate) mod command;
pub(crate) mod command_restore;
pub(crate) mod page;
pub(crate) mod text;
