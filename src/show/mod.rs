//! What a person or a program sees: sentences, tables and JSON.
//!
//! A finished value goes in and a text comes out: no statistic is computed here and no file
//! touched.

mod beyond;
mod calibration;
pub mod chart;
mod checked;
mod choices;
mod choices_json;
#[cfg(test)]
mod choices_tests;
mod compared;
mod compared_json;
mod draws;
mod entries;
mod findings;
mod forecast;
#[cfg(test)]
mod forecast_tests;
mod gauge;
mod gauge_document;
mod history;
mod imported;
mod json;
mod leaning;
mod learnt;
#[cfg(test)]
mod learnt_tests;
mod mark;
mod midway;
mod midway_document;
#[cfg(test)]
mod midway_tests;
mod next;
mod next_json;
mod number;
mod odds;
mod overview;
mod phrases;
mod pictures;
mod planned;
mod report;
mod screen;
mod standing;
mod strip;
mod table;
mod track;
#[cfg(test)]
mod track_tests;
mod weighed;

pub use calibration::calibration_text;
pub use checked::check_text;
pub use choices::{ChoicesView, choices_text};
pub use choices_json::choices_json;
pub use compared::compared_text;
pub use draws::draws_csv;
pub use entries::{
    disagreement_line, paper_line, readings_line, stack_line, struck_line, target_line,
    thread_line, trial_line, unwritten_text, wraps_line,
};
pub use findings::{findings_json, findings_text};
pub use forecast::{forecast_json, forecast_text};
pub use gauge::gauge_text;
pub use gauge_document::gauge_json;
pub use imported::{ImportView, import_json, import_text};
pub use learnt::{learnt_json, learnt_text};
pub use mark::is_marked;
pub use midway::midway_text;
pub use midway_document::midway_json;
pub use next::next_text;
pub use next_json::{calibration_json, next_json};
pub use number::{
    decimals_for_resolution, decimals_for_width, fine_length, length, plural, rounded,
};
pub use odds::{chance_in_figures, chance_in_words};
pub use overview::{no_book_text, overview_text};
pub use report::{BookReport, CardView, ChartPair, PageError, card_html, report_html};
pub use screen::Screen;
pub use strip::{Signs, Spread, Strip};
pub use table::{Align, Table};
pub use track::kept_line;
