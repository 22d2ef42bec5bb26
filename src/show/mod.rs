//! What a person or a program sees: sentences, tables and JSON.

pub mod beyond;
pub mod calibration;
pub mod checked;
pub mod choices;
pub mod choices_json;
pub mod choices_picture;
#[cfg(test)]
mod choices_tests;
pub mod compared;
pub mod compared_json;
pub mod draw_agreement;
pub mod draw_factors;
pub mod draw_history;
pub mod draw_knockdown;
pub mod draw_plan;
#[cfg(test)]
mod draw_test_views;
#[cfg(test)]
mod draw_tests;
pub mod draws;
pub mod entries;
pub mod findings;
pub mod forecast;
pub mod forecast_picture;
#[cfg(test)]
mod forecast_tests;
pub mod gauge;
pub mod gauge_document;
pub mod history;
pub mod imported;
pub mod kept;
pub mod leaning;
pub mod learnt;
pub mod learnt_picture;
#[cfg(test)]
mod learnt_tests;
pub mod midway;
pub mod midway_document;
pub mod midway_picture;
#[cfg(test)]
mod midway_tests;
pub mod next;
pub mod next_json;
pub mod overview;
pub mod plan_document;
pub mod plan_words;
pub mod planned;
pub mod report;
pub mod standing;
pub mod study;
pub mod track;
#[cfg(test)]
mod track_tests;
pub mod way_words;
pub mod weighed;
