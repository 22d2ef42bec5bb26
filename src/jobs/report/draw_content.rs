//! Everything that a report is made of.

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
    /// How well it predicts; `None` with too few trials.
    pub compared: Option<&'a Compared>,
    /// How repeatable the readings are; `None` where nothing was measured twice.
    pub gauge: Option<&'a GaugeReport>,
    /// What is doubtful.
    pub findings: &'a [Finding],
    /// The charts, in order.
    pub charts: &'a [ChartPair],
}
