//! Files other than the tables: settings, plans, gauge sheets, pools and summaries. Also decides
//! which files belong to a book.

pub(super) mod config;
pub(super) mod config_file;
pub(super) mod gauge_sheet;
pub(super) mod names;
pub(super) mod owned;
pub(super) mod plan_file;
pub(super) mod pool_file;
pub(super) mod pool_table;
#[cfg(test)]
mod pool_tests;
pub(super) mod pool_written;
pub(super) mod settings_edit;
pub(super) mod summary;
pub(super) mod summary_checks;
pub(super) mod summary_few;
pub(super) mod summary_file;
pub(super) mod toml_reader;
mod type_words;
