use super::plain::{DownWeighted, Weighing};
use super::slips::{Judged, Usual, judge};
use super::stock::Stock;
use crate::trade::{Edge, Name, Reading, State};
use std::collections::HashMap;

/// A set of readings of one edge of one trial in one state.
#[derive(Clone, Copy, Debug)]
pub(in crate::observe) struct Set {
    pub trial: usize,
    pub state: State,
    pub edge: Edge,
    /// The mean in mm, weighted where readings are out of line.
    pub mean: f64,
    /// Effective number of readings.
    pub readings: f64,
    /// Sum of squares about the mean and its degrees of freedom; `None` for a single reading.
    pub within: Option<(f64, f64)>,
}

/// Every set of the book, in order of trial, state and edge.
pub(in crate::observe) struct Sets {
    pub list: Vec<Set>,
    pub down_weighted: Vec<DownWeighted>,
    /// How well readings usually repeat, if sets are judged.
    pub usual: Option<Usual>,
}

/// A reading at one edge. `key` holds the index of its trial, its state and its edge.
struct Measured<'a> {
    key: (usize, State, Edge),
    reading: &'a Reading,
    mm: f64,
}

pub(in crate::observe) fn sets(
    readings: &[Reading],
    stock: &Stock,
    resolution_mm: f64,
    weighing: Weighing,
) -> Sets {
    let measured = measured(readings, stock);
    let groups: Vec<&[Measured<'_>]> = measured.chunk_by(|a, b| a.key == b.key).collect();
    let list = groups.iter().map(|group| set(group)).collect();
    let mut sets = Sets { list, down_weighted: Vec::new(), usual: None };
    if weighing == Weighing::Judged {
        sets.judge(&groups, resolution_mm);
    }
    sets
}

/// All readings at both edges, by trial, state and edge, and otherwise in the order taken.
fn measured<'a>(readings: &'a [Reading], stock: &Stock) -> Vec<Measured<'a>> {
    let places: HashMap<&Name, usize> =
        stock.trials.iter().enumerate().map(|(index, trial)| (&trial.name, index)).collect();
    let mut all = Vec::new();
    for reading in readings {
        let Some(&trial) = places.get(&reading.trial) else { continue };
        for edge in Edge::ALL {
            if let Some(value) = reading.edge(edge) {
                let key = (trial, reading.state, edge);
                all.push(Measured { key, reading, mm: value.mm() });
            }
        }
    }
    all.sort_by_key(|each| each.key);
    all
}

fn set(group: &[Measured<'_>]) -> Set {
    let (trial, state, edge) = group[0].key;
    let readings = group.len() as f64;
    let mean = group.iter().map(|each| each.mm).sum::<f64>() / readings;
    let squares = group.iter().map(|each| (each.mm - mean).powi(2)).sum::<f64>();
    Set {
        trial,
        state,
        edge,
        mean,
        readings,
        within: (group.len() > 1).then_some((squares, readings - 1.0)),
    }
}

impl Sets {
    /// Down-weights readings out of line. Sets without any stay as they are.
    fn judge(&mut self, groups: &[&[Measured<'_>]], resolution_mm: f64) {
        let values: Vec<Vec<f64>> =
            groups.iter().map(|group| group.iter().map(|each| each.mm).collect()).collect();
        let usual = Usual::of(&values);
        let judged = judge(&values, &usual, resolution_mm);
        self.usual = Some(usual);
        for (index, group) in groups.iter().enumerate() {
            let Some(judged) = &judged[index] else { continue };
            let set = &mut self.list[index];
            (set.mean, set.readings) = (judged.mean, judged.worth());
            set.within = Some(judged.within(&values[index]));
            self.down_weighted.extend(down_weighted(set, group, judged));
        }
    }
}

fn down_weighted(set: &Set, group: &[Measured<'_>], judged: &Judged) -> Vec<DownWeighted> {
    let out = group.iter().zip(&judged.weights).filter(|(_, weight)| **weight < 1.0);
    out.map(|(each, &weight)| DownWeighted {
        trial: each.reading.trial.clone(),
        state: set.state,
        edge: set.edge,
        place: each.reading.place.clone(),
        value_mm: each.mm,
        weight,
    })
    .collect()
}
