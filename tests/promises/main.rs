//! What the program promises, one module a promise.

mod bench_prompt;
mod command_line;
mod folder;
