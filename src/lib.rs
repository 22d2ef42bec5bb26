//! Swellbook: a bench book of swell for hand bookbinders.
//!
//! The lower modules are layered by what they know, and each uses only modules to its left. Above
//! them, every job of a binder is one folder, in which a file's name says what it may do. A test
//! reads the sources and fails if a file does more:
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
//!
//! The engine, `mixed`, is a library of its own. It knows only numbers.

#![forbid(unsafe_code)]

pub mod book;
// The other modules are documented only where the code does not explain itself.
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
