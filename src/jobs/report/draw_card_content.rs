//! The content of a bench card.

use super::answer_card::Card;
use crate::book::Config;
use crate::jobs::plan::answer_changes::Changed;
use jiff::civil::Date;

#[derive(Clone, Debug)]
pub struct CardView<'a> {
    /// The settings of the book behind the prediction.
    pub config: &'a Config,
    pub made: Date,
    /// The name of the plan, if it has one.
    pub title: Option<&'a str>,
    pub card: &'a Card,
    /// The single change that would raise the chance considerably.
    pub change: Option<&'a Changed>,
    /// Whether the height was given rather than assumed.
    pub height_given: bool,
    /// Whether the supports were given rather than assumed.
    pub supports_given: bool,
}
