//! The jobs of a binder, one folder each. A file's name says what the file may do: `answer`
//! computes, `text` words the answer for a terminal, `draw` draws it, and `command` turns arguments
//! into an answer and the answer into text.

pub(crate) mod audit;
pub(crate) mod backup;
pub mod beliefs;
pub(crate) mod bench;
pub mod chart;
pub mod compare;
pub(crate) mod completions;
pub(crate) mod correct;
pub(crate) mod desk;
pub(crate) mod doubt;
pub(crate) mod entries;
pub mod export;
pub mod fit;
pub mod fitted;
pub mod forecast;
pub mod gauge;
pub mod history;
pub(crate) mod import;
pub(crate) mod init;
pub(crate) mod keep;
pub(crate) mod man;
mod memory;
pub mod midway;
pub mod next;
pub mod plan;
pub mod plan_spec;
pub mod pool;
pub(crate) mod predict;
pub(crate) mod record;
pub(crate) mod refusal;
pub(crate) mod report;
pub(crate) mod restore;
pub(crate) mod show;
pub(crate) mod start_and_tour;
pub(crate) mod strike;
pub mod study;
pub mod track;
pub(crate) mod undo;
