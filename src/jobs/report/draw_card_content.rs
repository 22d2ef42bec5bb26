//! Everything that a bench card is made of.

use super::answer_card::Card;
use crate::book::Config;
use crate::jobs::plan::answer_changes::Changed;
use jiff::civil::Date;

/// Everything that a bench card is made of.
#[derive(Clone, Debug)]
pub struct CardView<'a> {
    /// The book that it was predicted from.
    pub config: &'a Config,
    /// The day.
    pub made: Date,
    /// What the plan is called, where it has a name.
    pub title: Option<&'a str>,
    pub card: &'a Card,
    /// The one change that would raise the odds much.
    pub change: Option<&'a Changed>,
    /// Whether the height was given and not taken.
    pub height_given: bool,
    /// Whether the supports were given and not taken.
    pub supports_given: bool,
}
