//! Saves forecasts and plans; a saved forecast is compared with the measured sewing later.

pub(crate) mod answer;
pub(crate) mod answer_options;
pub(crate) mod command;
pub(crate) mod command_save;
pub(crate) mod page_ways;
pub(crate) mod text;
