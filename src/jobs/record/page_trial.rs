//! The page for adding a trial block.

use super::answer_measure::next_state;
use super::command_trial::{entries_of, run};
use super::page_asked::{Again, Order, done};
use super::page_sewing::{FIELDS, Offer};
use crate::jobs::desk::Desk;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::form_page::FormPage;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::trade::{Name, State};
use askama::Template;

/// The drawing and text on how to sew a trial block.
const HOW: &str = concat!(
    "<section class=\"part\" aria-labelledby=\"how\">\n<h2 id=\"how\">How to sew one</h2>\n\
     <figure class=\"drawing\">\n",
    include_str!("../../../templates/bench/drawings/sew-a-trial.svg"),
    "</figure>\n",
    include_str!("../../../templates/bench/how-to-sew.html"),
    include_str!("../../../templates/bench/care.html"),
    "</section>"
);

/// The page shown while the book lacks a paper or a thread.
#[derive(Template)]
#[template(path = "bench/trial_first.html")]
struct First {
    papers: bool,
    threads: bool,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    let (papers, threads) = (!book.papers().is_empty(), !book.threads().is_empty());
    if papers && threads {
        return Ok(page(desk, form, Again::default())?.into());
    }
    let first = First { papers, threads };
    let title = match (papers, threads) {
        (false, false) => "First a paper and a thread",
        (false, true) => "First a paper",
        (true, _) => "First a thread",
    };
    let content = Content::new(title, first.render().unwrap_or_default());
    Ok(content.beside("A trial block needs a paper and a thread from the stock.").into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let order = Order { fields: FIELDS, entries: entries_of, run };
    let name = form.get("trial");
    let state = match name.and_then(|name| name.parse::<Name>().ok()) {
        Some(name) => next_state(&*desk.book()?, &name),
        None => State::Sewn,
    };
    let state = if form.get("next").is_some() { State::Unsewn } else { state };
    let then = address("/measure", &[("trial", name), ("state", Some(state.word()))]);
    done(desk, form, order, &then, page)
}

fn page(desk: &Desk, form: &Form, again: Again) -> Result<Content, Turned> {
    let book = desk.book()?;
    let offer = Offer::next(&book);
    let title = format!("New trial block: {}", form.get("trial").unwrap_or(offer.name()));
    let words = match book.trials().is_empty() {
        true => "Record it first, then measure it.",
        false => "The last sewing is filled in. Record the block first, then measure it.",
    };
    let drawn = FormPage {
        folded: Some(("Name, date, guards, a note", offer.folded(&book))),
        aside: HOW,
        other: Some(("next", "unsewn", "It is not sewn yet: measure it unsewn first")),
        asked: again.asked,
        ..FormPage::new("/trial", "Record, then measure", offer.groups(&book), desk.seal())
    };
    Ok(drawn.content(title, form, &again.faults).beside(words))
}
