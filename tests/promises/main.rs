//! What the program promises, one module for each promise.

mod book_files;
mod flat_sheet;
