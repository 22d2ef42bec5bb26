//! The frames: sets of readings, joined into observations.

use super::slips::{Judged, judge};
use super::stock::Stock;
use super::{DownWeighted, Observation, ObserveError, Repeatability, Sewn, Weighing};
use crate::trade::{Edge, Name, Reading, State};
use polars::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// A set of readings of one edge of one trial in one state.
#[derive(Clone, Copy, Debug)]
pub(super) struct Set {
    pub trial: usize,
    pub state: State,
    pub edge: Edge,
    /// The mean in mm, weighted where readings are out of line.
    pub mean: f64,
    /// How many readings it is worth.
    pub readings: f64,
    /// Sum of squares about the mean and its degrees of freedom; `None` for a single reading.
    pub within: Option<(f64, f64)>,
}

/// Every set of the book, as a frame `trial, state, edge, mean, variance, readings`.
pub(super) struct Sets {
    frame: DataFrame,
    list: Vec<Set>,
    down_weighted: Vec<DownWeighted>,
}

impl Sets {
    pub fn iter(&self) -> impl Iterator<Item = &Set> {
        self.list.iter()
    }

    /// Sum of squares and degrees of freedom of every set with more than one reading.
    pub fn within(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.list.iter().filter_map(|set| set.within)
    }

    pub fn into_down_weighted(self) -> Vec<DownWeighted> {
        self.down_weighted
    }
}

const SPINE: u32 = 0;
const FORE_EDGE: u32 = 1;

/// A reading at one edge: the codes of its trial, state and edge, and what it says.
struct Measured<'a> {
    key: (u32, u32, u32),
    reading: &'a Reading,
    mm: f64,
}

/// Groups the readings into sets.
pub(super) fn sets(
    readings: &[Reading],
    stock: &Stock,
    resolution_mm: f64,
    weighing: Weighing,
) -> Result<Sets, ObserveError> {
    let measured = measured(readings, stock);
    let column = |code: fn(&Measured<'_>) -> u32| measured.iter().map(code).collect::<Vec<u32>>();
    let values: Vec<f64> = measured.iter().map(|each| each.mm).collect();
    let long = df!(
        "trial" => column(|each| each.key.0),
        "state" => column(|each| each.key.1),
        "edge" => column(|each| each.key.2),
        "mm" => values,
    )?;
    let frame = summarised(&long)?;
    let list = set_list(&frame)?;
    let sets = Sets { frame, list, down_weighted: Vec::new() };
    match weighing {
        Weighing::Judged => Ok(sets.judged(&measured, resolution_mm)?),
        Weighing::Equal => Ok(sets),
    }
}

fn measured<'a>(readings: &'a [Reading], stock: &Stock) -> Vec<Measured<'a>> {
    let places: HashMap<&Name, usize> =
        stock.trials.iter().enumerate().map(|(index, trial)| (&trial.name, index)).collect();
    let mut all = Vec::new();
    for reading in readings {
        let Some(&trial) = places.get(&reading.trial) else { continue };
        for (code, value) in [(SPINE, reading.spine()), (FORE_EDGE, reading.fore_edge())] {
            if let Some(value) = value {
                let key = (trial as u32, state_code(reading.state), code);
                all.push(Measured { key, reading, mm: value.mm() });
            }
        }
    }
    all
}

impl Sets {
    /// Lets readings out of line count less. Where none is, nothing changes.
    fn judged(mut self, measured: &[Measured<'_>], resolution_mm: f64) -> PolarsResult<Self> {
        // In order of their keys, as the frame is.
        let mut groups: BTreeMap<(u32, u32, u32), Vec<&Measured<'_>>> = BTreeMap::new();
        for each in measured {
            groups.entry(each.key).or_default().push(each);
        }
        let values: Vec<Vec<f64>> =
            groups.values().map(|group| group.iter().map(|each| each.mm).collect()).collect();
        let judged = judge(&values, resolution_mm);
        for (index, group) in groups.into_values().enumerate() {
            let Some(judged) = &judged[index] else { continue };
            let set = &mut self.list[index];
            (set.mean, set.readings) = (judged.mean, judged.worth());
            set.within = Some(judged.within(&values[index]));
            self.down_weighted.extend(down_weighted(set, &group, judged));
        }
        if !self.down_weighted.is_empty() {
            let column = |value: fn(&Set) -> f64| self.list.iter().map(value).collect::<Vec<f64>>();
            let (means, counts) = (column(|set| set.mean), column(|set| set.readings));
            self.frame.with_column(Column::new("mean".into(), means))?;
            self.frame.with_column(Column::new("readings".into(), counts))?;
        }
        Ok(self)
    }
}

fn down_weighted(set: &Set, group: &[&Measured<'_>], judged: &Judged) -> Vec<DownWeighted> {
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

/// Mean, variance and count of each (trial, state, edge), sorted.
fn summarised(long: &DataFrame) -> PolarsResult<DataFrame> {
    const KEYS: [&str; 3] = ["trial", "state", "edge"];
    let groups = long.group_by_stable(KEYS)?;
    // The eager aggregations are marked as old, but their lazy successors cost a third of the
    // whole build.
    #[expect(deprecated)]
    let (means, variances, counts) = {
        let selected = groups.select(["mm"]);
        (selected.mean()?, selected.var(1)?, selected.count()?)
    };
    let mut columns = means.columns().to_vec();
    columns.push(variances.column("mm_agg_var")?.clone());
    columns.push(counts.column("mm_count")?.cast(&DataType::Float64)?);
    let mut frame = DataFrame::new_infer_height(columns)?;
    frame.rename("mm_mean", "mean".into())?;
    frame.rename("mm_agg_var", "variance".into())?;
    frame.rename("mm_count", "readings".into())?;
    frame.sort(KEYS, SortMultipleOptions::default())
}

fn state_code(state: State) -> u32 {
    State::ALL.iter().position(|&other| other == state).map_or(0, |index| index as u32)
}

fn numbers(frame: &DataFrame, column: &str) -> PolarsResult<Vec<f64>> {
    Ok(frame.column(column)?.f64()?.iter().map(|value| value.unwrap_or(f64::NAN)).collect())
}

fn codes(frame: &DataFrame, column: &str) -> PolarsResult<Vec<usize>> {
    Ok(frame.column(column)?.u32()?.iter().map(|code| code.unwrap_or(0) as usize).collect())
}

fn set_list(frame: &DataFrame) -> PolarsResult<Vec<Set>> {
    let (trials, states) = (codes(frame, "trial")?, codes(frame, "state")?);
    let (edges, means) = (codes(frame, "edge")?, numbers(frame, "mean")?);
    let (variances, readings) = (numbers(frame, "variance")?, numbers(frame, "readings")?);
    let set = |i: usize| Set {
        trial: trials[i],
        state: State::ALL[states[i]],
        edge: if edges[i] == SPINE as usize { Edge::Spine } else { Edge::ForeEdge },
        mean: means[i],
        readings: readings[i],
        within: (readings[i] > 1.0)
            .then_some((variances[i] * (readings[i] - 1.0), readings[i] - 1.0)),
    };
    Ok((0..trials.len()).map(set).collect())
}

/// One edge's sets, renamed so that the two edges can stand side by side.
fn edge_frame(sets: &Sets, code: u32, mean: &str, readings: &str) -> PolarsResult<DataFrame> {
    let mask = sets.frame.column("edge")?.u32()?.equal(code);
    let mut frame = sets.frame.filter(&mask)?.select(["trial", "state", "mean", "readings"])?;
    frame.rename("mean", mean.into())?;
    frame.rename("readings", readings.into())?;
    Ok(frame)
}

/// Joins the two edges and the trials into the observation table, sorted by trial and state.
pub(super) fn observations(
    sets: &Sets,
    stock: &Stock,
    repeatability: Repeatability,
    resolution_mm: f64,
) -> Result<DataFrame, ObserveError> {
    const KEYS: [&str; 2] = ["trial", "state"];
    let spines = edge_frame(sets, SPINE, "spine_mm", "spine_readings")?;
    let fore_edges = edge_frame(sets, FORE_EDGE, "fore_edge_mm", "fore_edge_readings")?;
    let mut frame = spines
        .inner_join(&fore_edges, KEYS, KEYS)?
        .inner_join(&trial_frame(&stock.trials)?, ["trial"], ["trial"])?
        .sort(KEYS, SortMultipleOptions::default())?;
    let (spine, fore_edge) = (numbers(&frame, "spine_mm")?, numbers(&frame, "fore_edge_mm")?);
    let guards = numbers(&frame, "guards_mm")?;
    let counts = (numbers(&frame, "spine_readings")?, numbers(&frame, "fore_edge_readings")?);
    let swell: Vec<f64> =
        (0..frame.height()).map(|i| spine[i] - fore_edge[i] - guards[i]).collect();
    let variance: Vec<f64> = (counts.0.iter().zip(&counts.1))
        .map(|(&s, &f)| repeatability.swell_variance(s, f, resolution_mm))
        .collect();
    frame.with_column(Column::new("swell_mm".into(), swell))?;
    frame.with_column(Column::new("variance_mm2".into(), variance))?;
    Ok(frame)
}

fn trial_frame(trials: &[Sewn]) -> PolarsResult<DataFrame> {
    let each = |f: fn(&Sewn) -> f64| trials.iter().map(f).collect::<Vec<f64>>();
    df!(
        "trial" => (0..trials.len() as u32).collect::<Vec<u32>>(),
        "name" => trials.iter().map(|trial| trial.name.as_str()).collect::<Vec<_>>(),
        "sections" => each(|trial| trial.sections),
        "sheets" => each(|trial| trial.sheets),
        "build_up_mm" => each(|trial| trial.build_up_mm),
        "leaves_mm" => each(|trial| trial.leaves_mm),
        "guards_mm" => each(|trial| trial.guards_mm),
    )
}

/// The table's rows as plain values.
pub(super) fn rows(frame: &DataFrame) -> Result<Vec<Observation>, ObserveError> {
    let (trials, states) = (codes(frame, "trial")?, codes(frame, "state")?);
    let (swell, variance) = (numbers(frame, "swell_mm")?, numbers(frame, "variance_mm2")?);
    let fore_edge = numbers(frame, "fore_edge_mm")?;
    let spine_readings = numbers(frame, "spine_readings")?;
    let fore_edge_readings = numbers(frame, "fore_edge_readings")?;
    let row = |i: usize| Observation {
        trial: trials[i],
        state: State::ALL[states[i]],
        swell_mm: swell[i],
        variance: variance[i],
        spine_readings: spine_readings[i],
        fore_edge_readings: fore_edge_readings[i],
        fore_edge_mm: fore_edge[i],
    };
    Ok((0..trials.len()).map(row).collect())
}
