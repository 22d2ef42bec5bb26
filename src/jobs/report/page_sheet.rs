//! The guide to a trial block, as a page and to print, and the log sheet to print.

use super::answer_blank::Blank;
use super::draw_sheet::{GUIDE, blank_html, guide_html, usual_paper};
use crate::jobs::desk::Desk;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::refusal::CliError;
use askama::Template;

#[derive(Template)]
#[template(path = "bench/guide.html")]
struct Guide;

pub(crate) fn guide(_: &Desk, _: &Form) -> Result<Answer, Turned> {
    Ok(Content::of(GUIDE, &Guide).into())
}

pub(crate) fn printed_guide(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let paper = usual_paper(Some(desk.book()?.config().unit));
    Ok(Answer::Document(guide_html(paper).map_err(CliError::from)?))
}

pub(crate) fn log_sheet(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let blank = Blank::of(&*desk.book()?);
    let commands = ["record trial", "record readings", "bench"].map(|it| format!("swellbook {it}"));
    let sheet = blank_html(&blank, &commands, usual_paper(blank.unit));
    Ok(Answer::Document(sheet.map_err(CliError::from)?))
}
