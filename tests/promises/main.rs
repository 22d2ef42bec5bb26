//! One test binary (each one links the whole program anew); a module for each promise.

mod published_models;
mod support;
