//! What the trials of a book measured, as a log has it: plain means of their readings.

use crate::book::Book;
use crate::trade::{Edge, Name, Place, Reading, Spread, State, Trial};
use crate::units::Millimetres;
use std::collections::BTreeMap;

/// What a block measured in one state.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Measured<'b> {
    pub state: State,
    pub readings: Vec<&'b Reading>,
    /// Means in mm.
    pub spine: Option<f64>,
    pub fore_edge: Option<f64>,
}

/// A trial and what it measured, in the order of its states.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Logged<'b> {
    pub trial: &'b Trial,
    pub states: Vec<Measured<'b>>,
}

impl<'b> Measured<'b> {
    fn of(state: State, mut readings: Vec<&'b Reading>) -> Self {
        readings.sort_by_key(|reading| rank(&reading.place));
        let mean = |edge: Edge| {
            let values = readings.iter().filter_map(|reading| reading.edge(edge));
            let values: Vec<f64> = values.map(Millimetres::mm).collect();
            Spread::of(&values).map(|spread| spread.mean)
        };
        let (spine, fore_edge) = (mean(Edge::Spine), mean(Edge::ForeEdge));
        Self { state, readings, spine, fore_edge }
    }

    /// The swell in mm; `None` where one edge was not measured.
    pub fn swell(&self) -> Option<f64> {
        Some(self.spine? - self.fore_edge?)
    }

    /// The swell in per cent of the fore-edge.
    pub fn percent(&self) -> Option<f64> {
        Some(100.0 * self.swell()? / self.fore_edge?)
    }
}

/// Where places come in a list, whenever they were measured: from head to tail, then by number,
/// then the others.
fn rank(place: &Place) -> (usize, u32) {
    let usual = ["head", "middle", "tail"].iter().position(|word| *word == place.as_str());
    let number = place.as_str().parse::<u32>().ok();
    match (usual, number) {
        (Some(at), _) => (at, 0),
        (None, Some(number)) => (3, number),
        (None, None) => (4, 0),
    }
}

/// Readings by their state, in the order of the states.
pub(crate) fn by_state<'b>(readings: impl IntoIterator<Item = &'b Reading>) -> Vec<Measured<'b>> {
    let mut states: BTreeMap<State, Vec<&Reading>> = BTreeMap::new();
    for reading in readings {
        states.entry(reading.state).or_default().push(reading);
    }
    states.into_iter().map(|(state, readings)| Measured::of(state, readings)).collect()
}

/// The trials that have these words in their name, their paper or their thread, latest first.
pub(crate) fn found<'b>(book: &'b Book, words: &str) -> Vec<&'b Trial> {
    let wanted = words.to_lowercase();
    let has = |name: &Name| name.as_str().to_lowercase().contains(&wanted);
    let is_wanted =
        |trial: &&Trial| [&trial.name, &trial.paper, &trial.thread].into_iter().any(has);
    book.trials().iter().rev().filter(is_wanted).collect()
}

/// These trials with what they measured.
pub(crate) fn logged<'b>(book: &'b Book, trials: &[&'b Trial]) -> Vec<Logged<'b>> {
    let mut own: BTreeMap<&Name, Vec<&Reading>> =
        trials.iter().map(|trial| (&trial.name, Vec::new())).collect();
    for reading in book.readings() {
        if let Some(own) = own.get_mut(&reading.trial) {
            own.push(reading);
        }
    }
    let of = |trial: &&'b Trial| {
        let readings = own.get(&trial.name).into_iter().flatten().copied();
        Logged { trial, states: by_state(readings) }
    };
    trials.iter().map(of).collect()
}
