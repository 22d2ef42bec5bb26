//! The readings taken so far, place by place.

use crate::trade::{Edge, Place};
use crate::units::Millimetres;
use std::collections::BTreeSet;

/// A reading taken (`value` is `Some`), or a place left out.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    pub edge: Edge,
    pub place: usize,
    pub value: Option<Millimetres>,
    /// The sign that the gauge sent with it.
    pub sign: Option<char>,
    pub note: String,
}

impl Step {
    /// What to note with the place: the sign of the gauge, and the binder's own words.
    fn noted(&self) -> String {
        let sign = self.sign.map(|sign| format!("gauge sign {sign} at the {}", self.edge));
        joined([sign.as_deref().unwrap_or_default(), &self.note])
    }
}

/// The steps so far, and all places to measure.
#[derive(Clone, Debug)]
pub(crate) struct Steps {
    places: Vec<Place>,
    /// In the order in which they were taken.
    pub taken: Vec<Step>,
}

impl Steps {
    pub fn at(places: Vec<Place>) -> Self {
        Self { places, taken: Vec::new() }
    }

    /// Number of places read or left out at an edge; also the index of the next place.
    pub fn count(&self, edge: Edge) -> usize {
        self.taken.iter().filter(|step| step.edge == edge).count()
    }

    /// The name of a place; `None` beyond the last.
    pub fn place(&self, index: usize) -> Option<&Place> {
        self.places.get(index)
    }

    /// The values read at an edge, in mm.
    pub fn values(&self, edge: Edge) -> Vec<f64> {
        let steps = self.taken.iter().filter(|step| step.edge == edge);
        steps.filter_map(|step| step.value).map(Millimetres::mm).collect()
    }

    pub fn value(&self, edge: Edge, place: usize) -> Option<Millimetres> {
        self.taken.iter().find(|step| step.edge == edge && step.place == place)?.value
    }

    pub fn exchange(&mut self) {
        for step in &mut self.taken {
            step.edge = match step.edge {
                Edge::Spine => Edge::ForeEdge,
                Edge::ForeEdge => Edge::Spine,
            };
        }
    }

    /// The last reading, ignoring places left out since.
    pub fn last_reading(&mut self) -> Option<&mut Step> {
        self.taken.iter_mut().rev().find(|step| step.value.is_some())
    }

    pub fn read_places(&self) -> BTreeSet<usize> {
        let read = self.taken.iter().filter(|step| step.value.is_some());
        read.map(|step| step.place).collect()
    }

    /// The common note, followed by the notes at a place.
    pub fn note(&self, common: &str, place: usize) -> String {
        let here = self.taken.iter().filter(|step| step.place == place).map(Step::noted);
        let here: Vec<String> = here.collect();
        joined(std::iter::once(common).chain(here.iter().map(String::as_str)))
    }
}

/// Joins notes into one line, leaving out empty ones.
pub(crate) fn joined<'a>(notes: impl IntoIterator<Item = &'a str>) -> String {
    notes.into_iter().filter(|note| !note.is_empty()).collect::<Vec<_>>().join("; ")
}
