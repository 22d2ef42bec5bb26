//! Everything that a report is made of.

use super::answer_ready::Prospects;
use super::answer_trials::PaperTrials;
use crate::book::{Book, Finding};
use crate::draw::html::ChartPair;
use crate::jobs::compare::answer::Compared;
use crate::jobs::fit::answer::Learnt;
use crate::jobs::study::answer::GaugeReport;
use jiff::civil::Date;

/// Everything that a report is made of.
#[derive(Clone, Debug)]
pub struct BookReport<'a> {
    pub book: &'a Book,
    /// The day.
    pub made: Date,
    pub learnt: &'a Learnt,
    /// What it is good for.
    pub prospects: &'a Prospects,
    /// How well it predicts; `None` with too few trials.
    pub compared: Option<&'a Compared>,
    /// How repeatable the readings are; `None` where nothing was measured twice.
    pub gauge: Option<&'a GaugeReport>,
    /// What is doubtful.
    pub findings: &'a [Finding],
    pub trials: &'a [PaperTrials<'a>],
    pub charts: &'a Charts,
    /// The next step of a book without a measured trial, and what it is for.
    pub first_step: Option<(String, &'static str)>,
}

/// The charts, each for its part.
#[derive(Clone, Debug)]
pub struct Charts {
    /// Of the papers.
    pub papers: Vec<ChartPair>,
    /// Of predictions against measurements.
    pub agreement: Option<ChartPair>,
    /// Of the sewings in order of date.
    pub history: ChartPair,
    /// Of the ways to sew the book in mind.
    pub in_mind: Option<ChartPair>,
}
