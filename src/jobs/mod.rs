//! The jobs of a binder, a folder each. A file name says what the file may do: `answer` works it out,
//! `text` says it at a terminal, `draw` draws it, `command` goes from arguments to an answer to a text.

pub(crate) mod audit;
pub(crate) mod backup;
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
pub mod midway;
pub mod next;
pub mod plan;
pub mod plan_spec;
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
