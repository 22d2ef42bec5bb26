//! The content of a report.

use super::answer_ready::Prospects;
use super::answer_trials::PaperTrials;
use crate::book::{Book, Finding};
use crate::draw::html::Figure;
use crate::jobs::compare::answer::Compared;
use crate::jobs::fit::answer::Learnt;
use crate::jobs::study::answer::GaugeReport;
use jiff::civil::Date;

#[derive(Clone, Debug)]
pub struct BookReport<'a> {
    pub book: &'a Book,
    pub made: Date,
    pub learnt: &'a Learnt,
    pub prospects: &'a Prospects,
    /// How well the book predicts; `None` with too few trials.
    pub compared: Option<&'a Compared>,
    /// How repeatable the readings are; `None` if nothing was measured twice.
    pub gauge: Option<&'a GaugeReport>,
    pub findings: &'a [Finding],
    pub trials: &'a [PaperTrials<'a>],
    pub charts: &'a Charts,
    /// The next command for a book without a measured trial, and what it records.
    pub first_step: Option<(String, &'static str)>,
}

#[derive(Clone, Debug)]
pub struct Charts {
    pub factors: Figure,
    pub knockdown: Figure,
    /// Predictions against measurements.
    pub agreement: Option<Figure>,
    /// The sewings in order of date.
    pub history: Figure,
    /// The ways to sew the book of `--in-mind`.
    pub in_mind: Option<Figure>,
}
