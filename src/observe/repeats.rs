//! Repeated readings: who measured what, and the values.

use super::observations::Observations;
use super::stock::hand_of;
use crate::book::{Book, GaugeSheet};
use crate::trade::{Edge, Name, Reading};
use std::collections::HashMap;

/// One reading of one part by one operator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeat {
    /// Who measured: index into [`Repeats::operators`].
    pub operator: usize,
    /// What was measured: index into [`Repeats::parts`].
    pub part: usize,
    pub mm: f64,
    /// Its weight within its part: 1, or less for a reading out of line.
    pub weight: f64,
}

/// The readings of a repeatability study, in the order they were written down.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Repeats {
    /// Who measured. Readings without an operator belong to the empty name.
    pub operators: Vec<String>,
    pub parts: Vec<String>,
    pub readings: Vec<Repeat>,
    /// Whether the readings are from a book. Their repeatability is then the one that the book's
    /// fit uses: weighted readings with a prior. A gauge sheet is analysed on its own.
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
    /// `observations` must be those of the same book; each reading keeps the weight it has there.
    pub fn of_book(book: &Book, observations: &Observations) -> Self {
        let out = observations.down_weighted.iter();
        let weights: HashMap<_, f64> =
            out.map(|one| ((&one.trial, one.state, one.edge, &one.place), one.weight)).collect();
        let hands: HashMap<&Name, String> =
            book.trials().iter().map(|trial| (&trial.name, hand_of(trial))).collect();
        let hand = |reading: &Reading| hands.get(&reading.trial).cloned().unwrap_or_default();
        let gathered = Self::gathered(book.readings().iter().flat_map(|reading| {
            let of_edge = |edge: Edge| {
                let part = format!("{} {} {edge}", reading.trial, reading.state);
                let key = (&reading.trial, reading.state, edge, &reading.place);
                let weight = weights.get(&key).copied().unwrap_or(1.0);
                Some((hand(reading), part, reading.edge(edge)?.mm(), weight))
            };
            Edge::ALL.into_iter().filter_map(of_edge).collect::<Vec<_>>()
        }));
        Self { of_book: true, ..gathered }
    }

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
