//! One test binary (each one links the whole program anew); a module for each promise.

mod book_files;
mod brute_force;
mod dense;
mod dense_draws;
mod published_models;
mod random_books;
mod support;
