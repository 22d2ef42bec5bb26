//! One test binary (each one links the whole program anew); a module for each promise.

mod bench_prompt;
mod book_files;
mod brute_force;
mod dense;
mod dense_draws;
mod command_line;
mod flat_sheet;
mod folder;
mod layers;
mod published_models;
mod random_books;
mod support;
