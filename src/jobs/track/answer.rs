//! Compares kept forecasts with measurements, to tell whether their chances can be trusted.

use super::answer_blurred::{Blurred, noise_of};
use super::answer_days::DaysTaken;
use super::answer_otherwise::{Otherwise, otherwise};
use super::answer_reliability::{
    ENOUGH_OUTCOMES, ReliabilityBin, TrackVerdict, reliability, verdict,
};
use crate::jobs::history::answer::as_text;
use crate::model::ExactShare;
use crate::observe::{Observation, Observations};
use crate::trade::{KeptForecast, Name, Reading, State, SwellQuantiles, Wanted};
use crate::units::fields_of;
use jiff::civil::Date;
use serde::Serialize;
use std::collections::{HashMap, HashSet};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum OutcomeSource {
    /// The readings of the trial of the forecast's name, in its state.
    Readings,
    /// The binder wrote it into the file of forecasts.
    Written,
}

/// The measured swell of a sewing, and its place in the forecast.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TrackOutcome {
    /// Swell in per cent of the fore-edge, including guards.
    #[serde(rename = "swell_percent")]
    pub percent: f64,
    pub source: OutcomeSource,
    /// Whether the target was met; `None` without a target.
    pub hit: Option<bool>,
    /// The promised chance of meeting the target, with the noise of the readings added.
    #[serde(skip)]
    pub expected: Option<f64>,
    /// The share of the forecast's distribution below the outcome, by interpolating the kept
    /// quantiles on the scale of normal scores (extrapolating beyond the outer ones). The noise of
    /// the readings is added to the forecast, here and in the two ranges below.
    pub share_below: f64,
    pub within_50: bool,
    pub within_90: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Followed {
    #[serde(rename = "forecast")]
    pub name: Name,
    #[serde(serialize_with = "as_text")]
    pub made: Date,
    pub state: State,
    /// The predicted swell in per cent.
    #[serde(rename = "swell_percent")]
    pub swell: SwellQuantiles,
    pub target: Option<Wanted>,
    /// The promised chance of meeting the target, from 0 to 1.
    #[serde(rename = "chance")]
    pub promised: Option<f64>,
    /// `None` until the sewing is measured.
    pub outcome: Option<TrackOutcome>,
    /// In what the sewing of its name differs from its plan. The outcome of another sewing says
    /// nothing about the forecast, so it does not count.
    pub sewn_otherwise: Vec<Otherwise>,
    /// Whether a reading of its outcome was taken before the day on which it was made; the block
    /// was sewn before, if nobody knows when it was measured. Such a forecast may know its outcome,
    /// so it does not count.
    pub made_too_late: bool,
    /// The day from which on a fit can have used its outcome: the later of the day of sewing and
    /// the last day on which a reading was taken, as far as they are known.
    #[serde(skip)]
    pub known: Option<Date>,
    /// Whether it counts: it was made before its own outcome and sewn as planned, and when it was
    /// made, the outcomes of all earlier forecasts that count were known.
    pub counts: bool,
}

impl Followed {
    /// Whether its outcome can say something about the forecast.
    pub fn is_of_this_plan(&self) -> bool {
        self.sewn_otherwise.is_empty() && !self.made_too_late
    }
}

/// The track record of kept forecasts.
///
/// Shares, bins and the verdict use only the outcomes that count.
#[derive(Clone, Debug, PartialEq)]
pub struct TrackRecord {
    /// Of each name and state the last forecast made in time, in order of the day it was made.
    pub forecasts: Vec<Followed>,
    /// Number of forecasts in whose place another one of the same name and state stands.
    pub superseded: usize,
    /// Targets met against promised chances, binned by promise; only bins with forecasts.
    pub reliability: Vec<ReliabilityBin>,
    /// How often the 50 % range held the outcome; `None` without outcomes.
    pub within_50: Option<ExactShare>,
    pub within_90: Option<ExactShare>,
    pub verdict: TrackVerdict,
}

// Adds the counts behind the verdict.
fields_of! { TrackRecord, |it|
    "verdict": it.verdict,
    "outcomes": it.outcomes().count(),
    "outcomes_counted": it.counted().count(),
    "outcomes_needed": ENOUGH_OUTCOMES,
    "superseded": it.superseded,
    "within_50": it.within_50,
    "within_90": it.within_90,
    "reliability": it.reliability,
    "forecasts": it.forecasts,
}

impl TrackRecord {
    pub fn outcomes(&self) -> impl Iterator<Item = (&Followed, TrackOutcome)> {
        self.forecasts.iter().filter_map(|one| Some((one, one.outcome?)))
    }

    pub fn counted(&self) -> impl Iterator<Item = (&Followed, TrackOutcome)> {
        self.outcomes().filter(|(one, _)| one.counts)
    }
}

/// Compares a book's kept forecasts with its observations.
///
/// The outcome of a forecast is the measured swell `100·W/F` of the trial of its name in its state.
/// It includes guards, as a forecast does. Without readings, the outcome that the binder wrote
/// counts. Source: docs/model.md, "The track record".
pub fn track_record(
    kept: &[KeptForecast],
    all: &Observations,
    readings: &[Reading],
) -> TrackRecord {
    let names: HashSet<&Name> = kept.iter().map(|one| &one.name).collect();
    let days = DaysTaken::of(readings.iter().filter(|reading| names.contains(&reading.trial)));
    let mut forecasts: Vec<Followed> = kept.iter().map(|one| followed(one, all, &days)).collect();
    let mut last = is_last(forecasts.iter()).into_iter();
    forecasts.retain(|_| last.next() == Some(true));
    forecasts.sort_by_key(|one| one.made);
    let superseded = kept.len() - forecasts.len();
    mark_those_that_count(&mut forecasts);
    let counted = || forecasts.iter().filter(|one| one.counts);
    let outcomes: Vec<TrackOutcome> = counted().filter_map(|one| one.outcome).collect();
    let held = |pick: fn(&TrackOutcome) -> bool| {
        ExactShare::new(outcomes.iter().filter(|one| pick(one)).count(), outcomes.len())
    };
    let hits = |chance: fn(&Followed, TrackOutcome) -> Option<f64>| {
        let one = |one: &Followed| Some((chance(one, one.outcome?)?, one.outcome?.hit?));
        counted().filter_map(one).collect::<Vec<(f64, bool)>>()
    };
    let (within_50, within_90) = (held(|one| one.within_50), held(|one| one.within_90));
    TrackRecord {
        superseded,
        reliability: reliability(&hits(|one, _| one.promised)),
        verdict: verdict(&hits(|_, outcome| outcome.expected), within_50, within_90),
        within_50,
        within_90,
        forecasts,
    }
}

/// Marks the forecasts with independent outcomes. Forecasts of one fit share its errors and miss
/// together; they are independent only if each fit had used the outcomes of the forecasts before.
/// So a forecast counts if it was made after the day on which the outcome of the last one that
/// counts was known. They are taken in order of these days, so that as many as possible count: a
/// book that took a year replaces none of those made and measured meanwhile. An outcome that no fit
/// uses, of a sewing unlike the plan, known before the forecast, or without a known day, never
/// counts.
fn mark_those_that_count(forecasts: &mut [Followed]) {
    let dated = forecasts.iter_mut().filter(|one| one.is_of_this_plan());
    let dated = dated.filter_map(|one| Some((one.known?, one)));
    let mut dated: Vec<(Date, &mut Followed)> = dated.collect();
    dated.sort_by_key(|(day, _)| *day);
    let mut last = Date::MIN;
    for (day, one) in dated {
        if one.made > last {
            one.counts = true;
            last = day;
        }
    }
}

/// Which of these forecasts, in order of the file, stands for its name and state: the last one made
/// before the outcome was known, or simply the last one if all came too late. One made afterwards never counts,
/// so it must not replace one that does. Of one day, it is the last in the file.
pub(crate) fn is_last<'f>(forecasts: impl Iterator<Item = &'f Followed> + Clone) -> Vec<bool> {
    let mut last: HashMap<_, ((bool, Date), usize)> = HashMap::new();
    for (row, one) in forecasts.clone().enumerate() {
        let this = ((!one.made_too_late, one.made), row);
        let known = last.entry((&one.name, one.state)).or_insert(this);
        *known = this.max(*known);
    }
    forecasts.enumerate().map(|(row, one)| last[&(&one.name, one.state)].1 == row).collect()
}

/// A kept forecast and its outcome. [`Followed::counts`] depends on the others and is not set.
pub(crate) fn followed(
    forecast: &KeptForecast,
    all: &Observations,
    days: &DaysTaken<'_>,
) -> Followed {
    let (name, state) = (&forecast.name, forecast.plan.state());
    let measured = measured(name, state, all);
    let trial = all.trials.iter().find(|trial| trial.name == *name);
    let (first, last) = days.of_outcome(name, state).unzip();
    // Nothing is measured before it is sewn.
    let known = |day: Option<Date>| measured.and(trial).and_then(|trial| trial.date.max(day));
    let written = forecast.outcome_percent.map(|percent| (percent, 0.0, OutcomeSource::Written));
    let aim = forecast.aim.as_ref();
    Followed {
        name: name.clone(),
        made: forecast.made,
        state,
        swell: forecast.swell,
        target: aim.map(|aim| aim.wanted.clone()),
        promised: aim.map(|aim| aim.chance()),
        outcome: measured.or(written).map(|(percent, noise, source)| {
            let blurred = Blurred::new(forecast.swell, noise);
            let (within_50, within_90) = blurred.within(percent);
            TrackOutcome {
                percent,
                source,
                hit: aim.map(|aim| aim.wanted.holds(percent)),
                expected: aim.map(|aim| blurred.chance(&aim.wanted, aim.chance())),
                share_below: blurred.share_below(percent),
                within_50,
                within_90,
            }
        }),
        sewn_otherwise: trial.map(|it| otherwise(&forecast.plan, it, all)).unwrap_or_default(),
        made_too_late: known(first).is_some_and(|first| first < forecast.made),
        known: known(last),
        counts: false,
    }
}

/// `100·W/F` of a trial in a state, including guards, and the standard deviation of its noise;
/// `None` unless both edges were measured.
fn measured(name: &Name, state: State, all: &Observations) -> Option<(f64, f64, OutcomeSource)> {
    let here = |row: &&Observation| row.state == state && all.trials[row.trial].name == *name;
    let row = all.rows.iter().find(here)?;
    let percent = all.measured_percent(row);
    Some((percent, noise_of(row, percent), OutcomeSource::Readings))
}
