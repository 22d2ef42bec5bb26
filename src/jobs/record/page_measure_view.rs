//! The view of a block that is being measured.

use super::answer_measure::{Expected, count, open_state};
use super::page_measured::{BLOCK, Block, SHOWN, Typed, field};
use crate::book::{Book, Config};
use crate::page::address::address;
use crate::page::field::{Choice, Field};
use crate::page::form::{Form, INSTEAD, TAKEN};
use crate::page::form_page::Seal;
use crate::page::strip::{Scale, Strip};
use crate::page::turned::{Fault, Turned};
use crate::terminal::number::{gauged, gauged_length, plural};
use crate::terminal::words::capital;
use crate::trade::{Edge, Place, Spread, State, Trial};
use askama::Template;

#[derive(Template)]
#[template(path = "bench/measure.html")]
struct View {
    trial: String,
    state: &'static str,
    state_word: &'static str,
    unit: &'static str,
    tabs: Vec<Tab>,
    edges: Vec<EdgeView>,
    /// Hidden fields: the key of the trial, the places, and what a phone knows about readings that
    /// it kept.
    kept: Vec<(&'static str, String)>,
    /// The key under which the phone stores unwritten readings.
    draft: String,
    /// Number of readings in this state when the page was opened.
    seen: usize,
    /// Selectors of the parts of the page that update while readings are typed.
    oob: String,
    seal: Seal,
    faults: Vec<String>,
    swell: Option<String>,
    expected: Option<String>,
    possible: Option<String>,
    strip: Option<Strip>,
    unasked: Option<String>,
    settled: bool,
    count: String,
    /// Whether the block was already measured in this state.
    again: bool,
    /// Whether the book has no readings yet.
    first: bool,
    others: Vec<Field>,
    open: bool,
}

struct Tab {
    path: String,
    words: String,
    beside: String,
    here: bool,
}

struct EdgeView {
    name: String,
    words: &'static str,
    places: Vec<PlaceView>,
    mean: String,
}

struct PlaceView {
    field: String,
    words: String,
    value: String,
    error: Option<String>,
    doubtful: bool,
    /// Whether a doubt about its value was settled.
    sure: bool,
    last: bool,
    /// Whether this is the next field to type into.
    now: bool,
}

pub(super) fn html(
    block: &Block<'_>,
    form: &Form,
    expected: &Expected,
    faults: &[Fault],
    seal: Seal,
) -> Result<String, Turned> {
    let typed = block.typed(form)?;
    let Block { book, trial, state, .. } = *block;
    let config = book.config();
    let shown = |mm: f64| gauged(mm, config);
    let (spine, fore_edge) = (mean(&typed.spines), mean(&typed.fore_edges));
    let swell = spine.zip(fore_edge).map(|(spine, fore_edge)| spine - fore_edge);
    let own = ["trial", "state", "places"];
    let is_field = |fault: &&Fault| block.fields().any(|name| name == fault.field);
    let whole =
        faults.iter().filter(|fault| !is_field(fault) && !own.contains(&fault.field.as_str()));
    let says = block.fields().map(|name| format!("#says-{name}"));
    let oob =
        says.chain(Edge::ALL.map(|edge| format!("#mean-{edge}"))).chain(["#count".to_owned()]);
    let measured = count(book, &trial.name, state);
    let readings = typed.spines.len() + typed.fore_edges.len();
    let view = View {
        trial: trial.name.to_string(),
        state: state.phrase(),
        state_word: state.word(),
        unit: config.unit.symbol(),
        tabs: tabs(book, trial, state),
        edges: Edge::ALL.map(|edge| edge_view(block, form, &typed, faults, edge)).into(),
        kept: kept(block, form),
        draft: block.draft(),
        seen: form.get("seen").and_then(|seen| seen.parse().ok()).unwrap_or(measured),
        oob: oob.collect::<Vec<_>>().join(","),
        seal,
        faults: whole.map(|fault| fault.message.clone()).collect(),
        swell: swell.map(shown),
        expected: expected_range(expected, config),
        possible: expected
            .possible
            .map(|range| format!("{}–{}", shown(range.low), shown(range.high))),
        strip: strip(expected, swell, book),
        unasked: typed.unasked,
        settled: typed.settled,
        count: match readings {
            0 => "the readings".to_owned(),
            readings => plural(readings, "reading"),
        },
        again: measured > 0,
        first: book.readings().is_empty(),
        others: others(block, form, faults),
        open: faults.iter().any(|fault| own.contains(&fault.field.as_str())),
    };
    Ok(view.render().unwrap_or_default())
}

/// Fields that are sent along and not shown.
fn kept(block: &Block<'_>, form: &Form) -> Vec<(&'static str, String)> {
    let places = if block.named { "places" } else { SHOWN };
    let own = [TAKEN, INSTEAD].into_iter().filter_map(|name| Some((name, form.get(name)?)));
    let own = own.map(|(name, value)| (name, value.to_owned()));
    let key = block.key.clone().map(|key| (BLOCK, key));
    [(places, block.place_names())].into_iter().chain(key).chain(own).collect()
}

/// The range of the expected swell, such as `3.1–3.9`.
pub(super) fn expected_range(expected: &Expected, config: &Config) -> Option<String> {
    let swell = expected.swell?;
    let length = |mm| gauged_length(mm, swell.q95 - swell.q05, config);
    Some(format!("{}–{}", length(swell.q05), length(swell.q95)))
}

pub(super) fn mean(values: &[f64]) -> Option<f64> {
    Spread::of(values).map(|spread| spread.mean)
}

fn edge_view(
    block: &Block<'_>,
    form: &Form,
    typed: &Typed,
    faults: &[Fault],
    edge: Edge,
) -> EdgeView {
    let next = block.fields().find(|name| form.get(name).is_none());
    let place = |(index, place): (usize, &Place)| {
        let name = field(edge, index + 1);
        let at = faults.iter().chain(&typed.faults).find(|fault| fault.field == name);
        PlaceView {
            words: place_words(place.as_str()),
            value: form.get(&name).unwrap_or_default().to_owned(),
            error: at.map(|fault| fault.message.clone()),
            doubtful: typed.doubtful.contains(&name),
            sure: form.get(&format!("sure-{name}")).is_some(),
            last: edge == Edge::ForeEdge && index + 1 == block.places.len(),
            now: next.as_ref() == Some(&name),
            field: name,
        }
    };
    let (words, values) = match edge {
        Edge::Spine => ("Spine", &typed.spines),
        Edge::ForeEdge => ("Fore-edge", &typed.fore_edges),
    };
    let shown = |mm: f64| gauged(mm, block.book.config());
    EdgeView {
        name: edge.to_string(),
        words,
        places: block.places.iter().enumerate().map(place).collect(),
        mean: mean(values).map_or_else(|| "–".to_owned(), shown),
    }
}

/// The expected swell, and the swell measured so far.
pub(super) fn strip(expected: &Expected, swell: Option<f64>, book: &Book) -> Option<Strip> {
    let range = expected.swell?;
    let config = book.config();
    let unit = config.unit;
    let [low, middle, high] = [range.q05, range.q50, range.q95].map(|mm| unit.count_mm(mm));
    let here = swell.map(|mm| unit.count_mm(mm));
    let room = 0.5 * (high - low);
    let scale = Scale::over([low - room, high + room].into_iter().chain(here), unit.symbol());
    let length = |mm: f64| gauged_length(mm, range.q95 - range.q05, config);
    let so_far = swell.map(|swell| format!("; measured so far {} {unit}", gauged(swell, config)));
    let title = format!(
        "Swell that this block should have: {} {unit}, 90 % range {} to {} {unit}{}",
        length(range.q50),
        length(range.q05),
        length(range.q95),
        so_far.unwrap_or_default()
    );
    Some(Strip { here, ticks: true, ..Strip::new(title, &scale, [low, middle, high]) })
}

/// A tab for each usual state of a block, and for any other in which it was measured.
fn tabs(book: &Book, trial: &Trial, here: State) -> Vec<Tab> {
    const ALWAYS: [State; 3] = [State::Unsewn, State::Sewn, State::Knocked];
    let next = open_state(book, &trial.name);
    let tab = |state: State| {
        let measured = count(book, &trial.name, state);
        let beside = match measured {
            0 if Some(state) == next => "next".to_owned(),
            0 => "not measured".to_owned(),
            measured => plural(measured, "place"),
        };
        let (trial, word) = (Some(trial.name.as_str()), Some(state.word()));
        let path = address("/measure", &[("trial", trial), ("state", word)]);
        let words = capital(state.phrase());
        (state == here || measured > 0 || ALWAYS.contains(&state)).then_some(Tab {
            path,
            words,
            beside,
            here: state == here,
        })
    };
    State::ALL.into_iter().filter_map(tab).collect()
}

/// The fields for choosing another block, state or set of places.
fn others(block: &Block<'_>, form: &Form, faults: &[Fault]) -> Vec<Field> {
    let trial = |trial: &Trial| Choice::named(trial.name.as_str()).beside(trial.paper.as_str());
    let trials = block.book.trials().iter().rev().map(trial).collect();
    let states = State::ALL.iter().map(|state| Choice::new(state.word(), state.phrase())).collect();
    // The places offered for this block may be taken in another one, so they are only shown.
    let hint = format!(
        "Here: {}. If it is empty, the page offers the places that come next. Separate your own by \
         commas. Each is measured at spine and fore-edge.",
        block.place_names()
    );
    let fields = [
        Field::list("trial", "Block", trials).offer(block.trial.name.as_str()),
        Field::list("state", "State", states).offer(block.state.word()),
        Field::text("places", "Places").hint(hint),
    ];
    fields.into_iter().map(|field| field.filled(form, faults)).collect()
}

/// `Head`, or `Place 3` if the place is a number.
fn place_words(place: &str) -> String {
    let is_number = place.chars().all(|c| c.is_ascii_digit());
    if is_number { format!("Place {place}") } else { capital(place) }
}
