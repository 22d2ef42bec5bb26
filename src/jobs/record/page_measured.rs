//! Reads the typed fields of a block with the same rules as a gauge at the terminal.

use super::answer_measure::{free_places, named, places, readings_of};
use super::command_bench::Bench;
use super::command_subject::{Refusal, Subject};
use crate::book::Book;
use crate::jobs::doubt::answer::doubts_of_taken;
use crate::page::form::Form;
use crate::page::turned::{Fault, Turned};
use crate::trade::{Edge, Place, Reading, ReadingError, State, Trial};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// A block in a state, and the places where it is measured.
pub(crate) struct Block<'b> {
    pub book: &'b Book,
    pub trial: &'b Trial,
    pub state: State,
    pub places: Vec<Place>,
    /// Whether the form names the places.
    pub named: bool,
    /// The key of the trial ([`Book::trial_key`]).
    pub key: Option<String>,
    pub today: Date,
}

/// The readings of a form, with their faults and doubts.
pub(crate) struct Typed {
    pub readings: Vec<Reading>,
    /// The accepted spine values in mm; `fore_edges` are those of the other edge.
    pub spines: Vec<f64>,
    pub fore_edges: Vec<f64>,
    /// Faults, each at the field where the value was typed.
    pub faults: Vec<Fault>,
    /// The faulty fields whose value may be right anyway.
    pub doubtful: Vec<String>,
    /// Doubts about the readings as a whole that appear at no field.
    pub unasked: Option<String>,
    /// Whether the user has settled exactly these doubts.
    pub settled: bool,
    pub sure: BTreeSet<String>,
}

/// The form field with the key of the trial.
pub(crate) const BLOCK: &str = "block";
/// The form field with the places that were offered, not named by the user.
pub(crate) const SHOWN: &str = "shown";

/// The form field of a place: its edge, and its number from 1.
pub(crate) fn field(edge: Edge, place: usize) -> String {
    format!("{edge}-{place}")
}

impl<'b> Block<'b> {
    /// The block at the places that the form names or showed, else at the places to offer.
    pub fn of(
        book: &'b Book,
        trial: &'b Trial,
        state: State,
        form: &Form,
        today: Date,
    ) -> Result<Self, Turned> {
        let typed = form.get("places").map(parsed).transpose()?;
        let is_named = typed.is_some();
        // A form keeps the places that it showed, whatever the book would offer by now.
        let shown = form.get(SHOWN).map(parsed).transpose()?;
        let places = typed.or(shown).unwrap_or_else(|| places(book, &trial.name, state));
        let key = book.trial_key(&trial.name);
        let block = Self { book, trial, state, places, named: is_named, key, today };
        Ok(if form.get("more").is_some() { block.at_free_places() } else { block })
    }

    /// The block with a free number in place of each place that was measured meanwhile.
    fn at_free_places(self) -> Self {
        let Self { book, trial, state, places, .. } = self;
        let mut free = free_places(book, &trial.name, state).filter(|it| !places.contains(it));
        let is_taken =
            |place: &Place| readings_of(book, &trial.name, state).any(|it| it.place == *place);
        let at = |place: &Place| match is_taken(place) {
            true => free.next().unwrap_or_else(|| place.clone()),
            false => place.clone(),
        };
        let places = places.iter().map(at).collect();
        Self { places, ..self }
    }

    /// Whether the book has all these readings, at least one, at their places.
    pub fn has_all(&self, readings: &[Reading]) -> bool {
        let edges = |it: &Reading| (it.spine(), it.fore_edge());
        let is_there = |one: &Reading| {
            let mut there = readings_of(self.book, &self.trial.name, self.state);
            there.any(|it| it.place == one.place && edges(it) == edges(one))
        };
        !readings.is_empty() && readings.iter().all(is_there)
    }

    /// The names of its fields in the order of measuring: all spines, then all fore-edges.
    pub fn fields(&self) -> impl DoubleEndedIterator<Item = String> {
        let places = self.places.len();
        Edge::ALL
            .into_iter()
            .flat_map(move |edge| (1..=places).map(move |place| field(edge, place)))
    }

    /// The key under which a phone stores unwritten readings. Readings at other places of the same
    /// block are kept apart, and so are those of a block that had the same name before.
    pub fn draft(&self) -> String {
        let key = self.key.as_deref().unwrap_or(self.trial.name.as_str());
        format!("{key}/{}/{}", self.state.word(), self.place_names())
    }

    pub fn place_names(&self) -> String {
        self.places.iter().map(Place::as_str).collect::<Vec<_>>().join(", ")
    }

    /// Whether any place has a name rather than a number. Named places are not renumbered.
    pub fn has_names(&self) -> bool {
        self.places.iter().any(|place| place.as_str().parse::<u32>().is_err())
    }

    /// Takes every field in the order of measuring: all spines, then all fore-edges.
    pub fn typed(&self, form: &Form) -> Result<Typed, Turned> {
        let Self { book, trial, state, today, .. } = *self;
        let gone = |kind: &str| Turned::Missing(format!("The {kind} of {} is struck.", trial.name));
        let doubts = |readings: &[Reading]| doubts_of_taken(book, &readings.to_vec().into(), today);
        let subject = Subject::of(book, trial, state, &doubts).map_err(gone)?;
        let mut bench = Bench::new(subject, self.places.clone(), "");
        let (mut faults, mut doubtful) = (Vec::new(), Vec::new());
        for edge in Edge::ALL {
            for place in 1..=self.places.len() {
                let name = field(edge, place);
                let text = form.get(&name).unwrap_or_default();
                let is_sure = form.get(&format!("sure-{name}")) == Some(text);
                if let Err(Refusal { why, doubtful: may_be, .. }) =
                    bench.take_at(edge, text, is_sure)
                {
                    faults.push(Fault::new(name.as_str(), why));
                    doubtful.extend(may_be.then_some(name));
                    let left_out = bench.take_at(edge, "", false);
                    debug_assert!(left_out.is_ok(), "a place can always be left out");
                }
            }
        }
        // A reading that is asked about is left out here, so its edge may only seem to be missing.
        let unasked = bench.unasked().filter(|_| doubtful.is_empty());
        // A browser sends other line ends than it was given.
        let is_it = |sure: &str, why: &str| sure.lines().eq(why.lines());
        let settled = form.get("sure").zip(unasked.as_deref()).is_some_and(|(a, b)| is_it(a, b));
        let wrong = |error: ReadingError| {
            Turned::Faults(vec![Fault::new("", error.in_unit(book.config().unit))])
        };
        Ok(Typed {
            readings: bench.rows().map_err(wrong)?,
            spines: bench.steps.values(Edge::Spine),
            fore_edges: bench.steps.values(Edge::ForeEdge),
            faults,
            doubtful,
            unasked,
            settled,
            sure: bench.into_sure(),
        })
    }
}

/// The places of a form, if they are not too many for a page.
fn parsed(text: &str) -> Result<Vec<Place>, Turned> {
    let fault = |message: String| Turned::Faults(vec![Fault::new("places", message)]);
    let places = named(text).map_err(fault)?;
    match places.len() {
        0..=MOST => Ok(places),
        many => Err(fault(format!("{many} places are too many for a page; the most is {MOST}"))),
    }
}

/// The most places for which a page has fields.
pub(super) const MOST: usize = 40;
