//! Sewings in order of date, to detect a change of the hand.

use super::answer_control::{LAMBDA, LIMIT, limit_after, mean, moving_average, short_term_sd};
use crate::model::{Ranges, SewingEffect};
use crate::observe::Observations;
use crate::trade::Name;
use crate::units::fields_of;
use jiff::civil::Date;
use serde::{Serialize, Serializer};

/// The number of first dated sewings that define the usual level.
pub const BASELINE: usize = 10;
/// The minimum number of dated sewings for judging drift.
pub const ENOUGH_SEWINGS: usize = BASELINE + 2;
/// The least scatter between neighbouring sewings, as a multiple of what the model expects. A
/// smaller scatter is more likely luck than a steady hand.
const LEAST_SCATTER: f64 = 0.5;

/// One sewing on the chart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HistoryPoint {
    pub trial: Name,
    #[serde(serialize_with = "as_text")]
    pub date: Date,
    /// Difference from an average sewing, as a share of the thread's diameter, with the 50 % and
    /// 90 % ranges.
    pub effect: Ranges,
    /// The effect in standard deviations of a steady hand.
    pub standardised: f64,
    /// Whether `standardised` is outside ±3.
    pub out_of_limits: bool,
    /// The moving average and its limits; `None` for the baseline sewings, and while there are too
    /// few sewings.
    pub average: Option<MovingAverage>,
}

/// The moving average after a sewing, in standard deviations of a steady hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MovingAverage {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// Serializes a date as YYYY-MM-DD.
pub(crate) fn as_text<S: Serializer>(date: &Date, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(date)
}

// Adds `out_of_limits` to the fields.
fields_of! { MovingAverage, |it|
    let Self { value, low, high } = it;
    let out = it.is_out();
    "value": value, "low": low, "high": high, "out_of_limits": out,
}

impl MovingAverage {
    pub fn is_out(self) -> bool {
        !(self.low..=self.high).contains(&self.value)
    }
}

#[derive(Clone, Debug, PartialEq)]
pub enum Drift {
    TooFew {
        have: usize,
        needed: usize,
    },
    Steady,
    /// The moving average has left its limits and has not returned to the centre since.
    Drifting {
        /// The first sewing of the run on that side of the centre.
        trial: Name,
        /// The date of that sewing.
        since: Date,
        /// How much more the sewings since then take than the baseline sewings, as a share of the
        /// thread's diameter; negative for less.
        change: f64,
    },
}

/// The sewings of a book in order of date.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    /// Every sewing with a date, earliest first; sewings of one day in the order of recording.
    pub points: Vec<HistoryPoint>,
    /// Number of measured sewings left out because they have no date.
    pub undated: usize,
    /// The usual level: the mean standardised effect of the baseline sewings; `None` while there
    /// are too few.
    pub centre: Option<f64>,
    /// Scatter of the standardised effects between sewings; `None` while there are too few.
    pub scatter: Option<f64>,
    pub drift: Drift,
}

impl History {
    pub fn out_of_limits(&self) -> impl Iterator<Item = &HistoryPoint> {
        self.points.iter().filter(|point| point.out_of_limits)
    }

    /// The verdict as JSON has it, and where the drift began.
    pub(super) fn verdict(&self) -> (&'static str, Option<Since<'_>>) {
        match &self.drift {
            Drift::TooFew { .. } => ("too_few", None),
            Drift::Steady => ("steady", None),
            Drift::Drifting { trial, since, change } => {
                ("drifting", Some(Since(trial, since, *change)))
            }
        }
    }
}

pub(super) struct Since<'a>(&'a Name, &'a Date, f64);

fields_of! { Since<'_>, |it|
    let Self(trial, date, change) = it;
    "trial": trial, "date": date.to_string(), "change": change,
}

// Adds the constants behind the verdict.
fields_of! { History, |it|
    let (verdict, since) = it.verdict();
    "verdict": verdict,
    "since": since,
    "sewings_needed": ENOUGH_SEWINGS,
    "baseline": BASELINE,
    "limit": LIMIT,
    "lambda": LAMBDA,
    "centre": it.centre,
    "scatter": it.scatter,
    "undated": it.undated,
    "points": it.points,
}

/// Sorts the sewing effects of a fit by date and looks for a change. Sewings of one day are in the
/// order of the trials. Source: docs/model.md, "Sewings in order of date".
pub fn history(all: &Observations, effects: &[SewingEffect]) -> History {
    let mut effects: Vec<&SewingEffect> = effects.iter().collect();
    effects.sort_by_key(|one| (all.trials[one.trial].date, one.trial));
    let mut points: Vec<HistoryPoint> = effects.iter().filter_map(|one| point(all, one)).collect();
    let undated = effects.len() - points.len();
    let values: Vec<f64> = points.iter().map(|point| point.standardised).collect();
    let usual = short_term_sd(&values).filter(|_| points.len() >= ENOUGH_SEWINGS);
    let Some(scatter) = usual.map(|scatter| scatter.max(LEAST_SCATTER)) else {
        let drift = Drift::TooFew { have: points.len(), needed: ENOUGH_SEWINGS };
        return History { points, undated, centre: None, scatter: None, drift };
    };
    let centre = mean(&values[..BASELINE]);
    let averages = moving_average(&values[BASELINE..], centre, LAMBDA);
    for (step, (point, value)) in points[BASELINE..].iter_mut().zip(averages).enumerate() {
        let away = scatter * limit_after(step + 1, LAMBDA, Some(BASELINE));
        point.average = Some(MovingAverage { value, low: centre - away, high: centre + away });
    }
    let drift = drift(&points, centre);
    History { points, undated, centre: Some(centre), scatter: Some(scatter), drift }
}

fn point(all: &Observations, one: &SewingEffect) -> Option<HistoryPoint> {
    let trial = &all.trials[one.trial];
    Some(HistoryPoint {
        trial: trial.name.clone(),
        date: trial.date?,
        effect: one.effect,
        standardised: one.standardised,
        out_of_limits: one.standardised.abs() > LIMIT,
        average: None,
    })
}

/// Takes the last run of moving averages on one side of the centre. The hand drifts if any
/// average in that run is outside its limits.
fn drift(points: &[HistoryPoint], centre: f64) -> Drift {
    let side = |point: &HistoryPoint| point.average.map(|average| average.value > centre);
    let last = points.last().and_then(side);
    let run = points.iter().rev().take_while(|point| last.is_some() && side(point) == last).count();
    let since = &points[points.len() - run..];
    match since.first() {
        Some(first) if since.iter().any(|p| p.average.is_some_and(MovingAverage::is_out)) => {
            let effect = |points: &[HistoryPoint]| {
                mean(&points.iter().map(|point| point.effect.mean).collect::<Vec<_>>())
            };
            let change = effect(since) - effect(&points[..BASELINE]);
            Drift::Drifting { trial: first.trial.clone(), since: first.date, change }
        }
        Some(_) | None => Drift::Steady,
    }
}
