//! What the program promises, one module for each promise.

mod audit;
mod bench_prompt;
mod book_files;
mod command_line;
mod flat_sheet;
mod folder;
