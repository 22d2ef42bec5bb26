//! A sewing that was measured: a trial block or a finished book.

use super::name::Name;
use super::word::words;
use crate::trade::sewing::scheme::Sewing;
use crate::units::Millimetres;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// Whether a trial was sewn to learn from or to keep.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TrialKind {
    /// A small block sewn to be measured.
    #[default]
    Block,
    /// A real book.
    Book,
}

words!(TrialKind: Block = "block" | "trial block", Book = "book" | "finished book");

#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    pub name: Name,
    pub date: Option<Date>,
    pub kind: TrialKind,
    pub paper: Name,
    pub thread: Name,
    pub sewing: Sewing,
    pub boned: bool,
    /// Build-up of repairs at the fold over the block, in mm.
    pub guards: Millimetres,
    /// The hand that sewed it, if the book holds more than one.
    pub hand: Option<Name>,
    pub note: String,
}
