//! Sets joined into observations, and the table for work elsewhere.

use super::plain::{Observation, Sewn};
use super::repeatability::Repeatability;
use super::sets::{Set, Sets};
use super::stock::Stock;
use polars::prelude::*;

/// Sets of both edges side by side, in order of trial and state.
pub(in crate::observe) fn observations(
    sets: &Sets,
    stock: &Stock,
    repeatability: Repeatability,
    resolution_mm: f64,
) -> Vec<Observation> {
    let side_by_side = |pair: &[Set]| {
        let [spine, fore_edge] = pair else { return None };
        let same = (spine.trial, spine.state) == (fore_edge.trial, fore_edge.state);
        same.then(|| Observation {
            trial: spine.trial,
            state: spine.state,
            swell_mm: spine.mean - fore_edge.mean - stock.trials[spine.trial].guards_mm,
            variance: repeatability.swell_variance(
                spine.readings,
                fore_edge.readings,
                resolution_mm,
            ),
            spine_readings: spine.readings,
            fore_edge_readings: fore_edge.readings,
            fore_edge_mm: fore_edge.mean,
        })
    };
    sets.list.windows(2).filter_map(side_by_side).collect()
}

/// The observation table, for whoever works on with it elsewhere: one row for each trial and state
/// with both edges measured.
pub(in crate::observe) fn frame(rows: &[Observation], trials: &[Sewn]) -> PolarsResult<DataFrame> {
    let row = |of: fn(&Observation) -> f64| rows.iter().map(of).collect::<Vec<f64>>();
    let trial =
        |of: fn(&Sewn) -> f64| rows.iter().map(|row| of(&trials[row.trial])).collect::<Vec<f64>>();
    df!(
        "trial" => rows.iter().map(|row| trials[row.trial].name.as_str()).collect::<Vec<_>>(),
        "state" => rows.iter().map(|row| row.state.to_string()).collect::<Vec<_>>(),
        "spine_readings" => row(|row| row.spine_readings),
        "fore_edge_readings" => row(|row| row.fore_edge_readings),
        "fore_edge_mm" => row(|row| row.fore_edge_mm),
        "swell_mm" => row(|row| row.swell_mm),
        "variance_mm2" => row(|row| row.variance),
        "sections" => trial(|trial| trial.sections),
        "sheets" => trial(|trial| trial.sheets),
        "build_up_mm" => trial(|trial| trial.build_up_mm),
        "leaves_mm" => trial(|trial| trial.leaves_mm),
        "guards_mm" => trial(|trial| trial.guards_mm),
    )
}
