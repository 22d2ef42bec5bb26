//! Kept forecasts held against what was measured: whether the odds can be believed.

use super::answer_blurred::{Blurred, noise_of};
use super::answer_reliability::{
    ENOUGH_OUTCOMES, ReliabilityBin, TrackVerdict, reliability, verdict,
};
use crate::jobs::history::answer::as_text;
use crate::model::ExactShare;
use crate::observe::{Observation, Observations};
use crate::trade::{KeptForecast, Name, State, SwellQuantiles, Wanted};
use crate::units::fields;
use jiff::civil::Date;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Where an outcome comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum OutcomeSource {
    /// The readings of the trial of that name, in the forecast's state.
    Readings,
    /// The binder wrote it into the forecasts' file.
    Written,
}

/// What a sewing came out at, and where that lies in its forecast.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TrackOutcome {
    /// Swell in per cent of the fore-edge, guards included.
    #[serde(rename = "swell_percent")]
    pub percent: f64,
    /// Where it comes from.
    pub source: OutcomeSource,
    /// Whether it met the target; `None` without one.
    pub hit: Option<bool>,
    /// The chance of that: the one promised, with the noise of the readings in it.
    #[serde(skip)]
    pub expected: Option<f64>,
    /// The share of the forecast's distribution below it, by interpolating the kept quantiles on
    /// the scale of normal scores (beyond the outer ones, extrapolating). The noise of the readings
    /// is added to the forecast, here and in what follows.
    pub share_below: f64,
    /// Whether the range said to hold half the time held it.
    pub within_50: bool,
    /// Whether the 90 % range held it.
    pub within_90: bool,
}

/// A kept forecast and what came of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Followed {
    /// The sewing's name.
    #[serde(rename = "forecast")]
    pub name: Name,
    /// The day the forecast was made.
    #[serde(serialize_with = "as_text")]
    pub made: Date,
    /// The state that was predicted.
    pub state: State,
    /// The predicted swell in per cent.
    #[serde(rename = "swell_percent")]
    pub swell: SwellQuantiles,
    /// The wanted swell.
    pub target: Option<Wanted>,
    /// The promised chance of meeting it, from 0 to 1.
    #[serde(rename = "chance")]
    pub promised: Option<f64>,
    /// What it came out at; `None` until it is measured.
    pub outcome: Option<TrackOutcome>,
    /// Whether it counts: the outcomes of all that count before it were known when it was made.
    pub counts: bool,
}

/// How kept forecasts have fared.
///
/// Shares, bins and the verdict are of the outcomes that count.
#[derive(Clone, Debug, PartialEq)]
pub struct TrackRecord {
    /// Of each name the last forecast, in order of the day it was made.
    pub forecasts: Vec<Followed>,
    /// Forecasts that were followed by a later one of the same name.
    pub superseded: usize,
    /// Targets met against promised chances, by size of the promise; only bins with forecasts.
    pub reliability: Vec<ReliabilityBin>,
    /// How often the range said to hold half the time held the outcome; `None` without outcomes.
    pub within_50: Option<ExactShare>,
    /// The same of the 90 % range.
    pub within_90: Option<ExactShare>,
    /// What it comes to.
    pub verdict: TrackVerdict,
}

/// With the counts that the verdict is of.
impl Serialize for TrackRecord {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        fields!(serializer,
            "verdict": self.verdict,
            "outcomes": self.outcomes().count(),
            "outcomes_counted": self.counted().count(),
            "outcomes_needed": ENOUGH_OUTCOMES,
            "superseded": self.superseded,
            "within_50": self.within_50,
            "within_90": self.within_90,
            "reliability": self.reliability,
            "forecasts": self.forecasts,
        )
    }
}

impl TrackRecord {
    pub fn outcomes(&self) -> impl Iterator<Item = (&Followed, TrackOutcome)> {
        self.forecasts.iter().filter_map(|one| Some((one, one.outcome?)))
    }

    /// Those that count.
    pub fn counted(&self) -> impl Iterator<Item = (&Followed, TrackOutcome)> {
        self.outcomes().filter(|(one, _)| one.counts)
    }
}

/// Holds a book's kept forecasts against its observations.
///
/// The outcome of a forecast is the swell of the trial of its name in its state, as measured and
/// with its guards, as a forecast includes them: `100·W/F`. Where there are no readings the
/// outcome that the binder wrote counts. Source: docs/model.md, "The track record".
pub fn track_record(kept: &[KeptForecast], all: &Observations) -> TrackRecord {
    let last = last_of_each(kept);
    let superseded = kept.len() - last.len();
    let mut forecasts: Vec<Followed> = last.into_iter().map(|one| followed(one, all)).collect();
    mark_those_that_count(&mut forecasts, all);
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

/// Forecasts of one fit share what it does not know, and miss together: only where the fit of each
/// had used the outcomes of those before it are their outcomes independent. So a forecast
/// counts when it was made after the day on which the last one that counts was sewn. An outcome
/// that no fit learns from, or on a day that is not known, never counts.
fn mark_those_that_count(forecasts: &mut [Followed], all: &Observations) {
    let mut known = Date::MIN;
    for one in forecasts {
        let read = one.outcome.filter(|outcome| outcome.source == OutcomeSource::Readings);
        let trial = all.trials.iter().find(|trial| trial.name == one.name);
        let sewn = read.and(trial).and_then(|trial| trial.date);
        if let Some(day) = sewn.filter(|_| one.made > known) {
            one.counts = true;
            known = day.max(known);
        }
    }
}

/// Of each name the forecast made last, of one day the last in the file; in order of the day.
pub(crate) fn last_of_each(forecasts: &[KeptForecast]) -> Vec<&KeptForecast> {
    let mut last: BTreeMap<&Name, (usize, &KeptForecast)> = BTreeMap::new();
    for (row, forecast) in forecasts.iter().enumerate() {
        let known = last.entry(&forecast.name).or_insert((row, forecast));
        if forecast.made >= known.1.made {
            *known = (row, forecast);
        }
    }
    let mut kept: Vec<(usize, &KeptForecast)> = last.into_values().collect();
    kept.sort_by_key(|(row, forecast)| (forecast.made, *row));
    kept.into_iter().map(|(_, forecast)| forecast).collect()
}

/// A kept forecast and what came of it; [`Followed::counts`] depends on the others and is not set.
pub(crate) fn followed(forecast: &KeptForecast, all: &Observations) -> Followed {
    let measured = measured(&forecast.name, forecast.plan.state(), all);
    let written = forecast.outcome_percent.map(|percent| (percent, 0.0, OutcomeSource::Written));
    let aim = forecast.aim.as_ref();
    Followed {
        name: forecast.name.clone(),
        made: forecast.made,
        state: forecast.plan.state(),
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
        counts: false,
    }
}

/// `100·W/F` of a trial in a state, guards included, and the standard deviation of its noise;
/// `None` unless both edges were measured.
fn measured(name: &Name, state: State, all: &Observations) -> Option<(f64, f64, OutcomeSource)> {
    let here = |row: &&Observation| row.state == state && all.trials[row.trial].name == *name;
    let row = all.rows.iter().find(here)?;
    let swell_mm = row.swell_mm + all.trials[row.trial].guards_mm;
    let percent = 100.0 * swell_mm / row.fore_edge_mm;
    Some((percent, noise_of(row, percent), OutcomeSource::Readings))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::KeptPlan;

    #[test]
    fn of_several_forecasts_of_a_name_the_last_one_counts() {
        let of = |name: &str, made: &str, q: f64| KeptForecast {
            name: name.parse().unwrap(),
            made: made.parse().unwrap(),
            plan: "state=knocked".parse::<KeptPlan>().unwrap(),
            swell: SwellQuantiles::new([q; 5]).unwrap(),
            aim: None,
            outcome_percent: None,
        };
        let all = [
            of("B", "2026-03-02", 1.0),
            of("A", "2026-03-01", 2.0),
            of("B", "2026-03-02", 3.0),
            of("B", "2026-03-01", 4.0),
        ];
        let medians: Vec<f64> = last_of_each(&all).iter().map(|one| one.swell.median()).collect();
        assert_eq!(medians, [2.0, 3.0]);
    }
}
