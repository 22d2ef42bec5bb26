//! `report --blank` and `report --guide`: sheets to print for the bench.

use super::answer_blank::Blank;
use super::draw_sheet::{blank_html, guide_html, usual_paper};
use crate::draw::html::PaperSize;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use clap::builder::{PossibleValuesParser, TypedValueParser};

/// The options for a sheet. Options of a report or a card conflict with each of them.
pub(crate) const SHEETS: [&str; 2] = ["blank", "guide"];

/// What to print instead of a report.
#[derive(Debug, clap::Args)]
pub(crate) struct SheetArgs {
    /// Write an empty log sheet for a trial block, to fill in with a pencil
    #[arg(long, group = "sheet")]
    blank: bool,
    /// Write a guide of one page: how to sew, press and measure a trial block
    #[arg(long, group = "sheet")]
    guide: bool,
    /// Paper for --blank or --guide [default: letter for a book in inches, otherwise a4]
    #[arg(long, value_name = "SIZE", requires = "sheet", ignore_case = true,
        value_parser = PossibleValuesParser::new(["a4", "letter"]).map(paper_size))]
    paper_size: Option<PaperSize>,
}

fn paper_size(typed: String) -> PaperSize {
    if typed.eq_ignore_ascii_case("letter") { PaperSize::Letter } else { PaperSize::A4 }
}

impl SheetArgs {
    /// The page and the message once it is written; `None` if no sheet is wanted.
    pub fn page(
        &self,
        session: &mut Session<'_>,
    ) -> Result<Option<(String, &'static str)>, CliError> {
        if !self.blank && !self.guide {
            return Ok(None);
        }
        let blank = session.book_here()?.as_ref().map(Blank::of).unwrap_or_default();
        let paper = self.paper_size.unwrap_or(usual_paper(blank.unit));
        if self.guide {
            return Ok(Some((guide_html(paper)?, "wrote the guide")));
        }
        let commands = ["record trial", "record readings", "bench"].map(|it| session.command(it));
        Ok(Some((blank_html(&blank, &commands, paper)?, "wrote the log sheet")))
    }
}
