//! What a person or a program sees: sentences, tables and JSON.
//!
//! A finished value goes in and a text comes out: no statistic is computed here and no file
//! touched.

mod entries;
mod findings;
mod imported;
mod number;
mod overview;
mod table;

pub use entries::{
    disagreement_line, paper_line, readings_line, stack_line, struck_line, target_line,
    thread_line, trial_line, unwritten_text, wraps_line,
};
pub use findings::{findings_json, findings_text};
pub use imported::{ImportView, import_json, import_text};
pub use number::{
    decimals_for_resolution, decimals_for_width, fine_length, length, plural, rounded,
};
pub use overview::{no_book_text, overview_text};
pub use table::{Align, Table};
