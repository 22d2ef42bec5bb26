//! The days on which the readings of a trial were taken.

use crate::trade::{Name, Reading, State, parse_day};
use jiff::civil::Date;
use std::collections::HashMap;

/// The first and the last day on which each trial was measured in each state. The column may hold
/// any text; what is not a day says nothing here.
pub(crate) struct DaysTaken<'b>(HashMap<(&'b Name, State), (Date, Date)>);

impl<'b> DaysTaken<'b> {
    pub fn of(readings: impl IntoIterator<Item = &'b Reading>) -> Self {
        let mut days: HashMap<(&Name, State), (Date, Date)> = HashMap::new();
        for reading in readings {
            let Ok(day) = parse_day(&reading.taken, None) else { continue };
            let known = days.entry((&reading.trial, reading.state)).or_insert((day, day));
            *known = (known.0.min(day), known.1.max(day));
        }
        Self(days)
    }

    pub fn of_outcome(&self, trial: &Name, state: State) -> Option<(Date, Date)> {
        self.0.get(&(trial, state)).copied()
    }
}
