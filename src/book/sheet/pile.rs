//! Readings of one trial in one state, taken one by one.

use crate::book::csv::tail::{Values, values};
use crate::trade::{Name, Reading};
use std::collections::{BTreeMap, VecDeque};

/// Readings in the order of the book, indexed by place and by value.
pub(super) struct Pile<'a> {
    readings: Vec<Option<&'a Reading>>,
    by_place: BTreeMap<&'a Name, BTreeMap<Values, VecDeque<usize>>>,
    by_values: BTreeMap<Values, VecDeque<usize>>,
}

impl<'a> Pile<'a> {
    pub(super) fn of(readings: Vec<&'a Reading>) -> Self {
        let mut pile =
            Self { readings: Vec::new(), by_place: BTreeMap::new(), by_values: BTreeMap::new() };
        for (index, reading) in readings.into_iter().enumerate() {
            let at_place = pile.by_place.entry(&reading.place).or_default();
            at_place.entry(values(reading)).or_default().push_back(index);
            pile.by_values.entry(values(reading)).or_default().push_back(index);
            pile.readings.push(Some(reading));
        }
        pile
    }

    /// Takes the first reading at `place`, with these values if they are given.
    pub(super) fn take_at(&mut self, place: &Name, values: Option<&Values>) -> Option<&'a Reading> {
        let here = self.by_place.get_mut(place)?;
        let alike = match values {
            Some(values) => here.get_mut(values)?,
            None => here.values_mut().next()?,
        };
        first_left(alike, &mut self.readings)
    }

    /// Whether a reading at `place` is left.
    pub(super) fn has_at(&self, place: &Name) -> bool {
        let here = self.by_place.get(place).into_iter().flat_map(BTreeMap::values).flatten();
        here.into_iter().any(|index| self.readings[*index].is_some())
    }

    /// The readings that are left.
    pub(super) fn left(&self) -> impl Iterator<Item = &'a Reading> {
        self.readings.iter().flatten().copied()
    }

    /// Takes the first reading with these values.
    pub(super) fn take_with(&mut self, values: &Values) -> Option<&'a Reading> {
        first_left(self.by_values.get_mut(values)?, &mut self.readings)
    }
}

/// Takes the first of `readings` that `indices` name and that is not taken yet.
fn first_left<'a>(
    indices: &mut VecDeque<usize>,
    readings: &mut [Option<&'a Reading>],
) -> Option<&'a Reading> {
    std::iter::from_fn(|| indices.pop_front()).find_map(|index| readings[index].take())
}
