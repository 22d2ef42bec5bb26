//! One test binary (each one links the whole program anew); a module for each promise.

mod book_files;
mod published_models;
mod support;
