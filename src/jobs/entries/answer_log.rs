//! The measurements of a book's trials as a log shows them: plain means of their readings.

use crate::book::Book;
use crate::trade::{Edge, Name, Place, Reading, Spread, State, Trial};
use crate::units::{Millimetres, fields_of};
use std::collections::BTreeMap;

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Measured<'b> {
    pub state: State,
    pub readings: Vec<&'b Reading>,
    /// Means and ranges in mm.
    pub spine: Option<Spread>,
    pub fore_edge: Option<Spread>,
}

// Its readings, with their means, ranges and the swell, in mm.
fields_of! { Measured<'_>, |it|
    let mean = |edge: Option<Spread>| edge.map(|edge| edge.mean);
    let range = |edge: Option<Spread>| edge.and_then(|edge| edge.range);
    "state": it.state,
    "spine_mm": mean(it.spine),
    "spine_range_mm": range(it.spine),
    "fore_edge_mm": mean(it.fore_edge),
    "fore_edge_range_mm": range(it.fore_edge),
    "swell_mm": it.swell(),
    "swell_percent": it.percent(),
    "readings": it.readings.iter().map(|reading| Read(reading)).collect::<Vec<_>>(),
}

struct Read<'b>(&'b Reading);

fields_of! { Read<'_>, |it|
    let Self(reading) = it;
    "place": reading.place,
    "spine_mm": reading.spine(),
    "fore_edge_mm": reading.fore_edge(),
    "taken": reading.taken.to_string(),
    "note": reading.note.to_string(),
}

impl<'b> Measured<'b> {
    fn of(state: State, mut readings: Vec<&'b Reading>) -> Self {
        readings.sort_by_key(|reading| rank(&reading.place));
        let spread = |edge: Edge| {
            let values = readings.iter().filter_map(|reading| reading.edge(edge));
            Spread::of(&values.map(Millimetres::mm).collect::<Vec<_>>())
        };
        let (spine, fore_edge) = (spread(Edge::Spine), spread(Edge::ForeEdge));
        Self { state, readings, spine, fore_edge }
    }

    /// The swell in mm; `None` unless both edges were measured.
    pub fn swell(&self) -> Option<f64> {
        Some(self.spine?.mean - self.fore_edge?.mean)
    }

    /// The swell in per cent of the fore-edge.
    pub fn percent(&self) -> Option<f64> {
        Some(100.0 * self.swell()? / self.fore_edge?.mean)
    }
}

/// Sort key of a place, whenever it was measured: from head to tail, then by number, then the
/// others.
fn rank(place: &Place) -> (usize, u32) {
    let usual = ["head", "middle", "tail"].iter().position(|word| *word == place.as_str());
    let number = place.as_str().parse::<u32>().ok();
    match (usual, number) {
        (Some(at), _) => (at, 0),
        (None, Some(number)) => (3, number),
        (None, None) => (4, 0),
    }
}

/// Groups readings by state, in the order of the states.
pub(crate) fn by_state<'b>(readings: impl IntoIterator<Item = &'b Reading>) -> Vec<Measured<'b>> {
    let mut states: BTreeMap<State, Vec<&Reading>> = BTreeMap::new();
    for reading in readings {
        states.entry(reading.state).or_default().push(reading);
    }
    states.into_iter().map(|(state, readings)| Measured::of(state, readings)).collect()
}

/// The trials with this text in their name, paper or thread, latest first.
pub(crate) fn found<'b>(book: &'b Book, words: &str) -> Vec<&'b Trial> {
    let wanted = words.to_lowercase();
    let has = |name: &Name| name.as_str().to_lowercase().contains(&wanted);
    let is_wanted =
        |trial: &&Trial| [&trial.name, &trial.paper, &trial.thread].into_iter().any(has);
    book.trials().iter().rev().filter(is_wanted).collect()
}
