//! One test binary (each one links the whole program anew); a module for each promise.

mod audit;
mod bench_prompt;
mod book_files;
mod command_line;
mod flat_sheet;
mod folder;
mod layers;
mod published_models;
mod support;
mod texts;
