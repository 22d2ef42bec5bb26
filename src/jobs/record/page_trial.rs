//! The page for adding a trial block.

use super::answer_measure::next_state;
use super::answer_offered::free_name;
use super::command_trial::{Args, run, trial_of};
use super::page_asked::{Again, Order, settled, written};
use super::page_sewing::{FIELDS, Offer};
use crate::book::entry_named;
use crate::jobs::desk::Desk;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::form_page::FormPage;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::trade::{Name, State};
use askama::Template;

/// The field with the name that the page offered.
const OFFERED: &str = "offered";

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
    Ok(Content::of(title, &first)
        .beside("A trial block needs a paper and a thread from the stock.")
        .into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let order = Order { fields: FIELDS, new_of: trial_of, run };
    let (typed, taken) = named(desk, form)?;
    let name = typed.get("trial");
    let state = match name.and_then(|name| name.parse::<Name>().ok()) {
        Some(name) => next_state(&*desk.book()?, &name),
        None => State::Sewn,
    };
    let state = if form.get("next").is_some() { State::Unsewn } else { state };
    let then = address("/measure", &[("trial", name), ("state", Some(state.word()))]);
    let written = typed.args(order.fields).map(|args: Args| {
        written(desk, form, |session, is_sure| {
            if let Some(taken) = &taken {
                session.tell(&format!("note: {taken} was recorded meanwhile, so this is another"));
            }
            order.carried_out(args, session, is_sure)
        })
    });
    settled(desk, &typed, written, &then, page)
}

/// The form of a new block, and the name that the page offered for it if another block was recorded
/// under it meanwhile. The form then has the next free name. A name that the user typed stays.
fn named(desk: &Desk, form: &Form) -> Result<(Form, Option<String>), Turned> {
    let book = desk.book()?;
    let offered = form.get("trial").filter(|name| form.get(OFFERED) == Some(*name));
    let taken = offered.filter(|name| entry_named(book.trials(), name).is_some());
    let Some(taken) = taken else { return Ok((form.clone(), None)) };
    let nameless = form.without("trial");
    match desk.was_done(form) {
        // Sent twice: the block that comes next is the one that was recorded.
        Ok(Some(_)) => Ok((nameless, None)),
        _ => Ok((nameless.with("trial", free_name(&book)), Some(taken.to_owned()))),
    }
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
        kept: vec![(OFFERED, offer.name().to_owned())],
        ..FormPage::new("/trial", "Record, then measure", offer.groups(&book), desk.seal())
    };
    Ok(drawn.content(title, form, &again.faults).beside(words))
}
