//! Swellbook: a bench book of swell for hand bookbinders.
//!
//! A reading goes one way through these modules, left to right, and no module uses one to its
//! right (a test reads the sources and fails when one does):
//!
//! ```text
//! units ─▶ trade ─▶ book ─▶ observe ─▶ model ─▶ decide ─▶ show ─▶ cli
//! number    what a    files    readings    fit and    odds,     tables,   arguments
//! with a    binder    on       become      predict    plans     JSON      and prompts
//! unit      works     disk     observa-
//!           with               tions
//! ```

#![forbid(unsafe_code)]

pub mod book;
pub mod cli;
pub mod decide;
pub mod draw;
pub mod model;
pub mod observe;
pub mod show;
pub mod terminal;
pub mod trade;
pub mod units;
