//! Repeated readings: who measured what, and what came out.

use crate::book::{Book, GaugeSheet};
use crate::trade::{Name, Reading, Trial};
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
    pub fn of_book(book: &Book) -> Self {
        let hands: HashMap<&Name, &Trial> =
            book.trials().iter().map(|trial| (&trial.name, trial)).collect();
        let hand = |reading: &Reading| {
            let trial = hands.get(&reading.trial);
            trial.and_then(|trial| trial.hand.as_ref()).map_or_else(String::new, Name::to_string)
        };
        Self::gathered(book.readings().iter().flat_map(|reading| {
            let edges = [("spine", reading.spine()), ("fore-edge", reading.fore_edge())];
            let of_edge = move |(edge, value): (&str, Option<crate::units::Millimetres>)| {
                let part = format!("{} {} {edge}", reading.trial, reading.state);
                Some((hand(reading), part, value?.mm()))
            };
            edges.into_iter().filter_map(of_edge).collect::<Vec<_>>()
        }))
    }

    /// The readings of a sheet of its own.
    pub fn of_sheet(sheet: &GaugeSheet) -> Self {
        Self::gathered(sheet.rows.iter().map(|row| {
            let operator = row.operator.as_ref().map_or_else(String::new, Name::to_string);
            (operator, row.part.to_string(), row.reading.mm())
        }))
    }

    fn gathered(readings: impl Iterator<Item = (String, String, f64)>) -> Self {
        let (mut operators, mut parts) = (Names::default(), Names::default());
        let readings = readings
            .map(|(operator, part, mm)| Repeat {
                operator: operators.place(operator),
                part: parts.place(part),
                mm,
            })
            .collect();
        Self { operators: operators.list, parts: parts.list, readings }
    }
}
