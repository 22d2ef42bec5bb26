//! The flat sheet: imports its rows as entries, and exports entries as its rows.

mod facts;
pub(super) mod flat;
mod gone;
mod grid;
pub(super) mod headings;
pub(super) mod layout;
mod matching;
mod matching_words;
mod numbers;
mod ods;
pub(super) mod own_heading;
mod pile;
pub(super) mod plan;
mod remedy;
mod row;
mod states;
pub(super) mod template;
pub(super) mod workbook;
mod workbook_error;
pub(super) mod written;
mod xlsx;
