use super::plain::{DownWeighted, Sewn, Weighing};
use super::slips::{Judged, Usual, squares};
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
    trials: &[Sewn],
    resolution_mm: f64,
    weighing: Weighing,
) -> Sets {
    let measured = measured(readings, trials);
    let groups: Vec<&[Measured<'_>]> = measured.chunk_by(|a, b| a.key == b.key).collect();
    let values: Vec<Vec<f64>> =
        groups.iter().map(|group| group.iter().map(|each| each.mm).collect()).collect();
    let usual = (weighing == Weighing::Judged).then(|| Usual::of(&values));
    let (mut list, mut down_weighted) = (Vec::new(), Vec::new());
    for (group, values) in groups.iter().zip(&values) {
        let mut set = set(group, values);
        if let Some(judged) = usual.as_ref().and_then(|usual| usual.judge(values, resolution_mm)) {
            (set.mean, set.readings) = (judged.mean, judged.worth());
            set.within = Some(judged.within(values));
            down_weighted.extend(out_of_line(group, &judged));
        }
        list.push(set);
    }
    Sets { list, down_weighted, usual }
}

/// All readings at both edges, by trial, state and edge, and otherwise in the order taken.
fn measured<'a>(readings: &'a [Reading], trials: &[Sewn]) -> Vec<Measured<'a>> {
    let places: HashMap<&Name, usize> =
        trials.iter().enumerate().map(|(index, trial)| (&trial.name, index)).collect();
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

fn set(group: &[Measured<'_>], values: &[f64]) -> Set {
    let (trial, state, edge) = group[0].key;
    let readings = values.len() as f64;
    Set {
        trial,
        state,
        edge,
        mean: values.iter().sum::<f64>() / readings,
        readings,
        within: (values.len() > 1).then(|| (squares(values), readings - 1.0)),
    }
}

fn out_of_line(group: &[Measured<'_>], judged: &Judged) -> Vec<DownWeighted> {
    let out = group.iter().zip(&judged.weights).filter(|(_, weight)| **weight < 1.0);
    out.map(|(each, &weight)| DownWeighted {
        trial: each.reading.trial.clone(),
        state: each.reading.state,
        edge: each.key.2,
        place: each.reading.place.clone(),
        value_mm: each.mm,
        weight,
    })
    .collect()
}
