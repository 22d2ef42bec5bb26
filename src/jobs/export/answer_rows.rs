//! Measurements row by row: every reading, and every observation that the model receives.

use crate::book::Entries;
use crate::observe::{Observation, Observations, Sewn};
use crate::trade::{Edge, Name, Paper, Place, Reading, State, Thread, Trial};
use crate::units::Millimetres;
use std::collections::HashMap;

/// A measurement of a trial, with the trial, its paper and its thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row<'a, T> {
    /// The trial's number in the book, from 1; struck trials are not counted.
    pub number: u32,
    pub trial: &'a Trial,
    pub paper: &'a Paper,
    pub thread: &'a Thread,
    /// The trial, as the model sees it.
    pub sewn: &'a Sewn,
    pub of: T,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed<'a> {
    pub reading: &'a Reading,
    /// Spine − fore-edge less the guards, in mm; `None` without both edges.
    pub swell_mm: Option<f64>,
    /// The weight of the spine in its set; `None` if it was not measured.
    pub spine_weight: Option<f64>,
    pub fore_edge_weight: Option<f64>,
}

/// The observations in their order, each with its entries.
pub fn observation_rows<'a>(
    entries: &'a Entries,
    all: &'a Observations,
) -> Vec<Row<'a, &'a Observation>> {
    all.rows.iter().map(|observation| row(entries, all, observation.trial, observation)).collect()
}

/// The readings in the order in which they were taken, each with its entries.
pub fn reading_rows<'a>(entries: &'a Entries, all: &'a Observations) -> Vec<Row<'a, Weighed<'a>>> {
    let less: HashMap<(&Name, State, Edge, &Place), f64> = (all.down_weighted.iter())
        .map(|one| ((&one.trial, one.state, one.edge, &one.place), one.weight))
        .collect();
    let places: HashMap<&Name, usize> =
        all.trials.iter().enumerate().map(|(place, trial)| (&trial.name, place)).collect();
    let weighed = |reading: &'a Reading| {
        let trial = *places.get(&reading.trial)?;
        let weight = |edge| {
            let key = (&reading.trial, reading.state, edge, &reading.place);
            reading.edge(edge).map(|_| less.get(&key).copied().unwrap_or(1.0))
        };
        let swell = |spine: Millimetres| {
            Some(spine.mm() - reading.fore_edge()?.mm() - all.trials[trial].guards_mm)
        };
        let weighed = Weighed {
            reading,
            swell_mm: reading.spine().and_then(swell),
            spine_weight: weight(Edge::Spine),
            fore_edge_weight: weight(Edge::ForeEdge),
        };
        Some(row(entries, all, trial, weighed))
    };
    entries.readings.iter().filter_map(weighed).collect()
}

/// The observations and the entries index trials, papers and threads alike.
fn row<'a, T>(entries: &'a Entries, all: &'a Observations, trial: usize, of: T) -> Row<'a, T> {
    let sewn = &all.trials[trial];
    let (paper, thread) = (&entries.papers[sewn.paper], &entries.threads[sewn.thread]);
    let number = u32::try_from(trial + 1).unwrap_or(u32::MAX);
    Row { number, trial: &entries.trials[trial], paper, thread, sewn, of }
}
