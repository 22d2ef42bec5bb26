//! Repeated readings: who measured what, and what came out.

use super::observations::Observations;
use crate::book::{Book, GaugeSheet};
use crate::trade::{Edge, Name, Reading, Trial};
use std::collections::HashMap;

/// One reading of one part by one operator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeat {
    /// Who measured, a place in [`Repeats::operators`].
    pub operator: usize,
    /// What was measured, a place in [`Repeats::parts`].
    pub part: usize,
    /// The reading in mm.
    pub mm: f64,
    /// How much it counts within its part: one, and less for a reading out of line.
    pub weight: f64,
}

/// The readings of a repeatability study, in the order they were written down.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Repeats {
    /// Who measured; a reading that names nobody belongs to the empty name.
    pub operators: Vec<String>,
    /// What was measured.
    pub parts: Vec<String>,
    /// The readings.
    pub readings: Vec<Repeat>,
    /// Whether they are those of a book, whose repeatability is the one that its fit rests on: each
    /// by its weight, with what is believed before any reading. A sheet is studied by itself.
    pub of_book: bool,
}

/// Names in order of appearance.
#[derive(Default)]
struct Names {
    list: Vec<String>,
    places: HashMap<String, usize>,
}

impl Names {
    fn place(&mut self, name: String) -> usize {
        let next = self.list.len();
        let place = *self.places.entry(name.clone()).or_insert(next);
        if place == next {
            self.list.push(name);
        }
        place
    }
}

impl Repeats {
    /// The readings of a book. A part is one edge of one trial in one state, its places are the
    /// repeats, and the operator is the trial's hand.
    ///
    /// Each counts as in `observations`, which are those of the book.
    pub fn of_book(book: &Book, observations: &Observations) -> Self {
        let out = observations.down_weighted.iter();
        let weights: HashMap<_, f64> =
            out.map(|one| ((&one.trial, one.state, one.edge, &one.place), one.weight)).collect();
        let hands: HashMap<&Name, &Trial> =
            book.trials().iter().map(|trial| (&trial.name, trial)).collect();
        let hand = |reading: &Reading| {
            let trial = hands.get(&reading.trial);
            trial.and_then(|trial| trial.hand.as_ref()).map_or_else(String::new, Name::to_string)
        };
        let gathered = Self::gathered(book.readings().iter().flat_map(|reading| {
            let of_edge = |edge: Edge| {
                let part = format!("{} {} {edge}", reading.trial, reading.state);
                let key = (&reading.trial, reading.state, edge, &reading.place);
                let weight = weights.get(&key).copied().unwrap_or(1.0);
                Some((hand(reading), part, reading.edge(edge)?.mm(), weight))
            };
            [Edge::Spine, Edge::ForeEdge].into_iter().filter_map(of_edge).collect::<Vec<_>>()
        }));
        Self { of_book: true, ..gathered }
    }

    /// The readings of a sheet of its own.
    pub fn of_sheet(sheet: &GaugeSheet) -> Self {
        Self::gathered(sheet.rows.iter().map(|row| {
            let operator = row.operator.as_ref().map_or_else(String::new, Name::to_string);
            (operator, row.part.to_string(), row.reading.mm(), 1.0)
        }))
    }

    fn gathered(readings: impl Iterator<Item = (String, String, f64, f64)>) -> Self {
        let (mut operators, mut parts) = (Names::default(), Names::default());
        let readings = readings
            .map(|(operator, part, mm, weight)| Repeat {
                operator: operators.place(operator),
                part: parts.place(part),
                mm,
                weight,
            })
            .collect();
        Self { operators: operators.list, parts: parts.list, readings, of_book: false }
    }
}
