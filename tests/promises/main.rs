//! What the program promises, one module for each promise.

mod audit;
mod book_files;
mod flat_sheet;
