//! One test binary (each one links the whole program anew); a module for each promise.

mod audit;
mod bench_prompt;
mod book_files;
mod brute_force;
mod command_line;
mod coverage;
mod dense;
mod dense_compare;
mod dense_draws;
mod dense_readings;
mod directions;
mod flat_sheet;
mod folder;
mod invariances;
mod layers;
mod outside_numbers;
mod published_models;
mod random_books;
mod sampler;
mod simulated;
mod support;
