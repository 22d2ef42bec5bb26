//! Sheets to print for the bench: an empty log sheet, and the guide to a trial block.

use super::answer_blank::Blank;
use crate::draw::html::{Head, PageError, PaperSize};
use crate::trade::{Hardness, State};
use crate::units::LengthUnit;
use askama::Template;

/// The title of the guide, in print and on the bench page.
pub(crate) const GUIDE: &str = "Sew, press and measure a trial block";
const LOG_SHEET: &str = "Log sheet for a trial block";

/// The commands for entering a filled sheet: the trial, its readings, the bench page.
pub(crate) type Commands = [String; 3];

#[derive(Template)]
#[template(path = "blank.html")]
struct Sheet<'a> {
    head: Head,
    blank: &'a Blank,
    /// The unit after the name of a box, such as `, mm`.
    unit: String,
    commands: &'a Commands,
}

#[derive(Template)]
#[template(path = "guide_sheet.html")]
struct Guide {
    head: Head,
}

/// The usual printer paper of binders who measure in this unit.
pub(crate) fn usual_paper(unit: Option<LengthUnit>) -> PaperSize {
    match unit {
        Some(LengthUnit::Inch | LengthUnit::Thou) => PaperSize::Letter,
        Some(LengthUnit::Millimetre | LengthUnit::Micrometre) | None => PaperSize::A4,
    }
}

/// The log sheet as one self-contained HTML page.
pub(crate) fn blank_html(
    blank: &Blank,
    commands: &Commands,
    paper: PaperSize,
) -> Result<String, PageError> {
    let head = Head::sheet(LOG_SHEET.to_owned(), LOG_SHEET, paper);
    let unit = blank.unit.map(|unit| format!(", {unit}")).unwrap_or_default();
    Ok(Sheet { head, blank, unit, commands }.render()?)
}

/// The guide as one self-contained HTML page.
pub(crate) fn guide_html(paper: PaperSize) -> Result<String, PageError> {
    Ok(Guide { head: Head::sheet(GUIDE.to_owned(), GUIDE, paper) }.render()?)
}
