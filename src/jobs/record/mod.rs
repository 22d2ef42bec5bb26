//! `record`: adds entries, given by flags or asked for.

pub(crate) mod answer_changed;
pub(crate) mod answer_measure;
mod answer_offered;
pub(crate) mod answer_steps;
pub(crate) mod command;
pub(crate) mod command_bench;
mod command_doubted;
pub(crate) mod command_leaving;
pub(crate) mod command_named;
pub(crate) mod command_paper;
pub(crate) mod command_readings;
mod command_subject;
pub(crate) mod command_target;
pub(crate) mod command_thread;
pub(crate) mod command_trial;
pub(crate) mod command_written;
pub(crate) mod page_asked;
mod page_changed;
pub(crate) mod page_measure;
mod page_measure_view;
mod page_measured;
pub(crate) mod page_paper;
pub(crate) mod page_sewing;
pub(crate) mod page_target;
pub(crate) mod page_thread;
pub(crate) mod page_trial;
pub(crate) mod page_written;
