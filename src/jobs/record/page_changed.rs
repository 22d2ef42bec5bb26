//! The page shown if someone else measured the block after this page was opened.

use super::answer_measure::{count, readings_of};
use super::page_measured::{Block, field};
use crate::jobs::desk::Desk;
use crate::page::address::address;
use crate::page::form::{Form, NUMBER, TOKEN};
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
    rows: Vec<Row>,
    seal: Seal,
    /// The typed fields, to be sent again.
    kept: Vec<(String, String)>,
    /// The address of the readings in the book.
    leave: String,
}

struct Row {
    place: String,
    theirs: String,
    ours: String,
}

/// Whether the block has more readings than when its page was opened, and the user has not yet
/// chosen to add the typed ones.
pub(super) fn is_changed(block: &Block<'_>, form: &Form) -> bool {
    let seen = form.get("seen").and_then(|seen| seen.parse().ok());
    let now = count(block.book, &block.trial.name, block.state);
    form.get("more").is_none() && seen.is_some_and(|seen: usize| seen < now)
}

/// The readings in the book and those typed, side by side.
pub(super) fn page(block: &Block<'_>, form: &Form, desk: &Desk) -> Content {
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
    let both = block.places.iter().enumerate().map(|(at, place)| Row {
        place: place.to_string(),
        theirs: of_place(place).map_or_else(|| "–".to_owned(), &shown),
        ours: typed(at + 1),
    });
    let others = theirs.iter().filter(|it| !block.places.contains(&it.place)).map(|it| Row {
        place: it.place.to_string(),
        theirs: shown(it),
        ours: "–".to_owned(),
    });
    let own = |name: &str| [NUMBER, TOKEN, "seen", "places"].contains(&name);
    let (name, word) = (Some(trial.name.as_str()), Some(state.word()));
    let view = View {
        trial: trial.name.to_string(),
        state: state.phrase(),
        draft: block.draft(),
        rows: both.chain(others).collect(),
        seal: desk.seal(),
        kept: form.kept(own),
        leave: address("/measured", &[("trial", name), ("state", word)]),
    };
    let title = format!("{} has changed since you opened it", trial.name);
    Content::new(title, view.render().unwrap_or_default()).refused()
}
