//! What a planned book is made of and wants, each by a flag of its own: target, paper and hand.

use super::answer_band::Band;
use super::command::planned_paper;
use super::command_resolve::hand_of;
use super::command_wanted::band_of;
use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::model::PlannedPaper;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::values;
use crate::trade::{Height, ranges};

pub(crate) fn value_error(flag: &'static str, message: impl Into<String>) -> CliError {
    CliError::Value { flag, message: message.into() }
}

/// The wanted swell: a target of the book, or `LOW..HIGH` in per cent.
///
/// # Errors
/// [`CliError::Value`] for a target that is neither in the book nor a range.
pub(crate) fn band(typed: &str, book: &Book) -> Result<Band, CliError> {
    by_flag("--target", typed, |text| band_of(text, book))
}

/// A paper by its name in the book, or a new one by its size.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PaperFlags<'a> {
    pub paper: &'a str,
    pub caliper: Option<&'a str>,
    pub hardness: Option<&'a str>,
}

impl PaperFlags<'_> {
    /// The paper to plan with.
    ///
    /// # Errors
    /// [`CliError::Value`] for a paper that is not in the book and has no size, or is and has one.
    pub fn planned(self, book: &Book, bench: &Bench) -> Result<PlannedPaper, CliError> {
        let owned = |text: Option<&str>| text.map(str::to_owned);
        let (caliper, hardness) = (owned(self.caliper), owned(self.hardness));
        let paper = owned(Some(self.paper));
        let flags = [("paper", &paper), ("caliper", &caliper), ("hardness", &hardness)];
        planned_paper(flags, (book, bench))
    }
}

/// The height of a book that was not said (common practice, no source).
const USUAL_HEIGHT: &str = "250mm";

/// The height of a book along its spine.
///
/// # Errors
/// [`CliError::Value`] for a height that no book has.
pub(crate) fn height(typed: Option<&str>, book: &Book) -> Result<Height, CliError> {
    by_flag("--height", typed.unwrap_or(USUAL_HEIGHT), |text| {
        let length = values::length(text, book.config().unit, ranges::HEIGHT)?;
        Height::new(length).map_err(|error| error.to_string())
    })
}

/// Who will sew, as a place among the hands of the fit.
///
/// # Errors
/// [`CliError::Value`] for a hand that is not in the book.
pub(crate) fn hand(typed: Option<&str>, bench: &Bench) -> Result<Option<usize>, CliError> {
    typed.map(|typed| by_flag("--hand", typed, |text| hand_of(text, bench))).transpose()
}
