//! Tests whether what the fit leaves unexplained depends on something about the trials.

use crate::jobs::fitted::Bench;
use crate::model::{Beliefs, ModelError, Slope, holm};
use crate::observe::{Observation, Observations, Sewn};
use crate::trade::{Hardness, State, words};
use crate::units::fields_of;
use serde::Serialize;
use std::collections::BTreeSet;
use std::f64::consts::LN_2;

/// Fewer measured trials than this say nothing about a slope.
const LEAST_TRIALS: usize = 4;
/// The chance of reporting a dependence in a book without any is at most this.
pub const BEND_LIMIT: f64 = 0.05;

/// A property of a trial or a state on which the unexplained part may depend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Covariate {
    Sections,
    Sheets,
    Thread,
    /// Several sections to a traverse.
    Sewing,
    Hardness,
    State,
    Date,
    Hand,
}

words!(
    Covariate: Sections = "sections", Sheets = "sheets", Thread = "thread", Sewing = "sewing",
    Hardness = "hardness", State = "state", Date = "date", Hand = "hand"
);

/// The step to which a slope refers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Per {
    Doubling,
    /// From the first day to the last.
    WholeTime,
    /// This kind against all others: a hardness, a state, a hand, or sewing two-on.
    Kind(String),
}

/// A change of the share that shows, which the fit does not explain.
#[derive(Clone, Debug, PartialEq)]
pub struct Bend {
    pub per: Per,
    pub slope: Slope,
}

fields_of! { Bend, |it|
    let (per, kind) = match &it.per {
        Per::Doubling => ("doubling", None),
        Per::WholeTime => ("whole_time", None),
        Per::Kind(kind) => ("kind", Some(kind)),
    };
    let Slope { change, sd } = it.slope;
    "per": per, "kind": kind, "change": change, "sd": sd,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Looked {
    pub covariate: Covariate,
    /// Its slope, or one for each kind.
    pub bends: Vec<Bend>,
    /// The joint chance of slopes this far out if the swell does not depend on it.
    pub chance: f64,
    /// The same after Holm's correction for all tested covariates.
    pub adjusted: f64,
}

// Includes the verdict, `bent`.
fields_of! { Looked, |it|
    "covariate": it.covariate,
    "chance": it.chance,
    "adjusted": it.adjusted,
    "bent": it.is_bent(),
    "slopes": it.bends,
}

impl Looked {
    /// Whether a dependence is reported.
    pub fn is_bent(&self) -> bool {
        self.adjusted < BEND_LIMIT
    }
}

pub fn bends(bench: &Bench, beliefs: &Beliefs) -> Result<Vec<Looked>, ModelError> {
    let all = &bench.observations;
    let sewn = all.rows.iter().filter(|row| row.state.has_thread()).map(|row| row.trial);
    if sewn.collect::<BTreeSet<_>>().len() < LEAST_TRIALS {
        return Ok(Vec::new());
    }
    let columns: Vec<(Covariate, Per, Vec<f64>)> = (Covariate::ALL.into_iter())
        .flat_map(|covariate| {
            columns(covariate, all).into_iter().map(move |(per, values)| (covariate, per, values))
        })
        .filter_map(|(covariate, per, values)| Some((covariate, per, centred(all, &values)?)))
        .collect();
    let values: Vec<Vec<f64>> = columns.iter().map(|column| column.2.clone()).collect();
    let slopes = bench.fit.slopes(all, beliefs, &values)?;
    let looked = Covariate::ALL.into_iter().filter_map(|covariate| {
        let slope = |&at: &usize| slopes.slope(at).map(|slope| (at, slope));
        let places = (0..columns.len()).filter(|&at| columns[at].0 == covariate);
        let found: Vec<(usize, Slope)> = places.filter_map(|at| slope(&at)).collect();
        let chance = slopes.chance(&found.iter().map(|one| one.0).collect::<Vec<_>>())?;
        let bend = |(at, slope): (usize, Slope)| Bend { per: columns[at].1.clone(), slope };
        let bends = found.into_iter().map(bend).collect();
        Some(Looked { covariate, bends, chance, adjusted: 1.0 })
    });
    let mut looked: Vec<Looked> = looked.collect();
    let adjusted = holm(&looked.iter().map(|one| one.chance).collect::<Vec<_>>());
    looked.iter_mut().zip(adjusted).for_each(|(one, adjusted)| one.adjusted = adjusted);
    Ok(looked)
}

/// A covariate's columns, with a value for every observation.
fn columns(covariate: Covariate, all: &Observations) -> Vec<(Per, Vec<f64>)> {
    let of_trial = |value: &dyn Fn(&Sewn) -> f64| {
        all.rows.iter().map(|row| value(&all.trials[row.trial])).collect::<Vec<f64>>()
    };
    let doubling = |value: &dyn Fn(&Sewn) -> f64| {
        vec![(Per::Doubling, of_trial(&|trial| value(trial).ln() / LN_2))]
    };
    let kind = |name: &str, is: &dyn Fn(&Observation) -> bool| {
        let values = all.rows.iter().map(|row| f64::from(u8::from(is(row)))).collect();
        (Per::Kind(name.to_owned()), values)
    };
    let trial = |row: &Observation| &all.trials[row.trial];
    match covariate {
        Covariate::Sections => doubling(&|trial| trial.sections),
        Covariate::Sheets => doubling(&|trial| trial.sheets),
        Covariate::Thread => doubling(&|trial| all.threads[trial.thread].diameter_mm),
        Covariate::Sewing => vec![kind("two-on", &|row| trial(row).on > 1)],
        Covariate::Hardness => [Hardness::Hard, Hardness::Soft]
            .map(|one| kind(one.word(), &|row| all.papers[trial(row).paper].hardness == one))
            .to_vec(),
        Covariate::State => [State::Pressed, State::Knocked, State::KnockedPressed]
            .map(|one| kind(one.word(), &|row| row.state == one))
            .to_vec(),
        Covariate::Date => dates(all).into_iter().map(|values| (Per::WholeTime, values)).collect(),
        // The first hand is the reference for the others.
        Covariate::Hand => (1..all.hands.len())
            .map(|hand| kind(&all.hands[hand], &|row| trial(row).hand == hand))
            .collect(),
    }
}

/// The dates scaled from 0 (the first) to 1 (the last). A trial without a date gets the mean of the
/// known dates. `None` with fewer than three different dates.
fn dates(all: &Observations) -> Option<Vec<f64>> {
    let day = |row: &Observation| {
        let date = all.trials[row.trial].date?;
        Some(f64::from(date.since(jiff::civil::Date::ZERO).ok()?.get_days()))
    };
    let days: Vec<Option<f64>> = all.rows.iter().map(day).collect();
    let mut known: Vec<f64> = days.iter().flatten().copied().collect();
    known.sort_by(f64::total_cmp);
    let mean = known.iter().sum::<f64>() / known.len() as f64;
    let (first, last) = (known.first().copied()?, known.last().copied()?);
    known.dedup();
    let share = |day: &Option<f64>| (day.unwrap_or(mean) - first) / (last - first);
    (known.len() >= 3).then(|| days.iter().map(share).collect())
}

/// The values less their mean over the observations with thread; `None` if they do not vary.
fn centred(all: &Observations, values: &[f64]) -> Option<Vec<f64>> {
    let counts = || all.rows.iter().zip(values).filter(|(row, _)| row.state.has_thread());
    let first = counts().next()?.1;
    let mean = counts().map(|(_, value)| value).sum::<f64>() / counts().count() as f64;
    let varies = counts().any(|(_, value)| value != first);
    varies.then(|| values.iter().map(|value| value - mean).collect())
}
