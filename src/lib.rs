//! Swellbook: a bench book of swell for hand bookbinders.
//!
//! The ground floors are layered by what they know, and use only what stands left of them. Above
//! them every job of a binder is one folder, in which the name of a file says what it may do (a test
//! reads the sources and fails where one does more):
//!
//! ```text
//! units ─▶ trade ─▶ book ─▶ observe ─▶ model ─▶ jobs/<job>/ ─▶ commands ─▶ main
//! number    what a    files   readings   fit and    answer    works it out
//! with a    binder    on      become     predict    text      says it at a terminal
//! unit      works     disk    observa-              draw      draws it
//!           with              tions                 command   arguments to answer to text
//!
//! terminal (session, prompts, output, words)  and  draw (scenes, charts, pages)  serve the jobs
//! and know none
//! ```

#![forbid(unsafe_code)]

pub mod book;
// What the program is made of inside is documented where the code does not say it itself.
#[deny(missing_docs)]
pub mod commands;
pub mod draw;
pub mod jobs;
pub mod model;
pub mod observe;
pub(crate) mod page;
pub mod terminal;
pub mod trade;
pub mod units;
