//! The page shown if the block has other readings than when its page was opened: somebody else
//! measured it, or this form was sent before with other values.

use super::answer_measure::{count, readings_of};
use super::page_measured::{Block, field};
use crate::jobs::desk::Desk;
use crate::page::address::address;
use crate::page::form::{BOOK, Form, NUMBER, TOKEN};
use crate::page::form_page::Seal;
use crate::page::route::Content;
use crate::terminal::number::length;
use crate::trade::{Edge, Place, Reading};
use askama::Template;

/// Both sets of readings, and a choice between them.
#[derive(Template)]
#[template(path = "bench/changed.html")]
struct View {
    trial: String,
    state: &'static str,
    draft: String,
    /// Whether the readings in the book came by this form.
    was_sent: bool,
    /// Each place, with the readings in the book and the typed ones.
    rows: Vec<[String; 3]>,
    seal: Seal,
    /// The typed fields, to be sent again.
    kept: Vec<(String, String)>,
    /// The address of the readings in the book.
    leave: String,
    log: String,
}

/// Whether the block has more readings than when its page was opened, and the user has not yet
/// chosen to add the typed ones.
pub(super) fn is_changed(block: &Block<'_>, form: &Form) -> bool {
    let seen = form.get("seen").and_then(|seen| seen.parse().ok());
    let now = count(block.book, &block.trial.name, block.state);
    form.get("more").is_none() && seen.is_some_and(|seen: usize| seen < now)
}

pub(super) fn page(block: &Block<'_>, form: &Form, desk: &Desk, was_sent: bool) -> Content {
    let Block { book, trial, state, .. } = *block;
    let theirs: Vec<&Reading> = readings_of(book, &trial.name, state).collect();
    let shown = |reading: &&Reading| {
        let edge =
            |edge| reading.edge(edge).map_or("–".to_owned(), |it| length(it, book.config()));
        format!("{}, {}", edge(Edge::Spine), edge(Edge::ForeEdge))
    };
    let typed = |place: usize| {
        let edge = |edge| form.get(&field(edge, place)).unwrap_or("–").to_owned();
        format!("{}, {}", edge(Edge::Spine), edge(Edge::ForeEdge))
    };
    let of_place = |place: &Place| theirs.iter().find(|it| it.place == *place);
    let none = || "–".to_owned();
    let both = block.places.iter().enumerate().map(|(at, place)| {
        [place.to_string(), of_place(place).map_or_else(none, &shown), typed(at + 1)]
    });
    let others = theirs.iter().filter(|it| !block.places.contains(&it.place));
    let others = others.map(|it| [it.place.to_string(), shown(it), none()]);
    let own = |name: &str| [NUMBER, TOKEN, BOOK, "seen"].contains(&name);
    let (name, word) = (Some(trial.name.as_str()), Some(state.word()));
    let view = View {
        trial: trial.name.to_string(),
        state: state.phrase(),
        draft: block.draft(),
        was_sent,
        rows: both.chain(others).collect(),
        seal: desk.seal(),
        kept: form.kept(own),
        log: address("/log", &[("trial", name)]),
        leave: address("/measured", &[("trial", name), ("state", word)]),
    };
    let title = match was_sent {
        true => format!("{}: already sent with other values", trial.name),
        false => format!("{} has changed since you opened it", trial.name),
    };
    Content::of(title, &view).refused()
}
