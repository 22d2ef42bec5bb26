//! What a planned book is made of and wants, by flag: target, paper and hand.

use super::prompt::by_flag;
use super::{CliError, suggest, values};
use crate::book::Book;
use crate::decide::{Band, Bench};
use crate::model::PlannedPaper;
use crate::trade::{Hardness, Name, ranges};

pub(super) fn value_error(flag: &'static str, message: impl Into<String>) -> CliError {
    CliError::Value { flag, message: message.into() }
}

/// The wanted swell: a target of the book, or `LOW..HIGH` in per cent.
///
/// # Errors
/// [`CliError::Value`] for a target that is neither in the book nor a range.
pub(super) fn band(typed: &str, book: &Book) -> Result<Band, CliError> {
    if let Some((low, high)) = typed.split_once("..") {
        let bound = |text: &str| by_flag("--target", text, |text| values::number(text, &["%"]));
        let band = Band::new(bound(low)?, bound(high)?);
        return band.map_err(|error| value_error("--target", error.to_string()));
    }
    let found = book.targets().iter().find(|target| target.name.as_str() == typed.trim());
    let names: Vec<&str> = book.targets().iter().map(|target| target.name.as_str()).collect();
    found.map(Band::from).ok_or_else(|| {
        let known = suggest::unknown("target", typed, &names);
        let message = format!("{known} (or give LOW..HIGH in per cent, such as 25..35)");
        value_error("--target", message)
    })
}

/// A paper by its name in the book, or a new one by its size.
#[derive(Clone, Copy, Debug)]
pub(super) struct PaperFlags<'a> {
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
        let name: Name = by_flag("--paper", self.paper, values::parsed)?;
        if let Some(paper) = bench.paper(&name) {
            if self.caliper.is_some() || self.hardness.is_some() {
                let why = "is in the book; leave out --caliper and --hardness";
                return Err(value_error("--paper", format!("'{name}' {why}")));
            }
            return Ok(paper);
        }
        let (Some(caliper), Some(hardness)) = (self.caliper, self.hardness) else {
            let names: Vec<&str> = book.papers().iter().map(|paper| paper.name.as_str()).collect();
            let unknown = suggest::unknown("paper", self.paper, &names);
            let message = format!("{unknown} (a new paper needs --caliper and --hardness)");
            return Err(value_error("--paper", message));
        };
        let caliper = by_flag("--caliper", caliper, |text| {
            values::length(text, book.config().unit, ranges::CALIPER)
        })?;
        let hardness: Hardness = by_flag("--hardness", hardness, values::parsed)?;
        Ok(PlannedPaper { name, level: None, caliper_mm: caliper.mm(), hardness })
    }
}

/// Who will sew, as a place among the hands of the fit.
///
/// # Errors
/// [`CliError::Value`] for a hand that is not in the book.
pub(super) fn hand(typed: Option<&str>, bench: &Bench) -> Result<Option<usize>, CliError> {
    let Some(typed) = typed else { return Ok(None) };
    let hands = &bench.observations.hands;
    let names: Vec<&str> =
        hands.iter().map(String::as_str).filter(|name| !name.is_empty()).collect();
    let found = hands.iter().position(|hand| hand == typed.trim());
    found.map(Some).ok_or_else(|| value_error("--hand", suggest::unknown("hand", typed, &names)))
}
