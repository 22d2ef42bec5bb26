use super::plain::Sewn;
use super::sets::Set;
use crate::trade::Edge;
use std::collections::BTreeMap;

/// The mean of a trial's ratios `F / (leaves × caliper)` over its sewn, knocked and pressed states.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrialRatio {
    /// Index into the list of trials.
    pub trial: usize,
    /// Index into the list of papers.
    pub paper: usize,
    pub ratio: f64,
    /// Leaves × caliper in mm.
    pub leaves_mm: f64,
}

pub(super) fn of_trials(sets: &[Set], trials: &[Sewn]) -> Vec<TrialRatio> {
    let mut by_trial: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for set in sets.iter().filter(|set| set.edge == Edge::ForeEdge && set.state.has_thread()) {
        by_trial.entry(set.trial).or_default().push(set.mean / trials[set.trial].leaves_mm);
    }
    by_trial
        .into_iter()
        .map(|(trial, ratios)| TrialRatio {
            trial,
            paper: trials[trial].paper,
            ratio: ratios.iter().sum::<f64>() / ratios.len() as f64,
            leaves_mm: trials[trial].leaves_mm,
        })
        .collect()
}
