//! `restore`: brings back a struck entry, or makes a book again from its backup.

pub(crate) mod command;
pub(crate) mod page;
