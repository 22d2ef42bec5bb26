//! Sewings in order of date: whether the hand has changed.

use super::answer_control::{LAMBDA, LIMIT, limit_after, mean, moving_average, short_term_sd};
use crate::model::{Ranges, SewingEffect};
use crate::observe::Observations;
use crate::trade::Name;
use crate::units::fields;
use jiff::civil::Date;
use serde::{Serialize, Serializer};

/// The first so many dated sewings say what is usual.
pub const BASELINE: usize = 10;
/// Fewer dated sewings than this are too few to tell of a drift.
pub const ENOUGH_SEWINGS: usize = BASELINE + 2;
/// The least scatter between neighbours, in what the model expects: where fewer differences than
/// that are seen they are more likely luck than a steady hand.
const LEAST_SCATTER: f64 = 0.5;

/// One sewing of the chart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HistoryPoint {
    pub trial: Name,
    /// The day it was sewn.
    #[serde(serialize_with = "as_text")]
    pub date: Date,
    /// What it differs by from an average sewing, as a share of the thread's diameter, with the
    /// 50 % and 90 % ranges.
    pub effect: Ranges,
    /// The effect in standard deviations of what a steady hand shows.
    pub standardised: f64,
    /// Whether it lies outside ±3 of them.
    pub out_of_limits: bool,
    /// The moving average and its limits; `None` among the first sewings, which say what is usual,
    /// and while there are too few.
    pub average: Option<MovingAverage>,
}

/// The moving average after a sewing, in standard deviations of what a steady hand shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MovingAverage {
    pub value: f64,
    /// Its lower limit.
    pub low: f64,
    /// Its upper limit.
    pub high: f64,
}

/// A day as it is written everywhere, YYYY-MM-DD.
pub(crate) fn as_text<S: Serializer>(date: &Date, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(date)
}

/// With what it comes to.
impl Serialize for MovingAverage {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { value, low, high } = self;
        let out = self.is_out();
        fields!(serializer, "value": value, "low": low, "high": high, "out_of_limits": out)
    }
}

impl MovingAverage {
    /// Whether it lies outside its limits.
    pub fn is_out(self) -> bool {
        !(self.low..=self.high).contains(&self.value)
    }
}

/// Whether the hand has changed.
#[derive(Clone, Debug, PartialEq)]
pub enum Drift {
    /// Too few dated sewings to tell.
    TooFew {
        /// Dated sewings there are.
        have: usize,
        /// Dated sewings that are needed.
        needed: usize,
    },
    /// Nothing but chance.
    Steady,
    /// The moving average has left its limits and has not come back to what was usual since.
    Drifting {
        /// The sewing since which it has been on that side.
        trial: Name,
        /// Its day.
        since: Date,
        /// How much more the sewings since then take, as a share of the thread's diameter, than
        /// the first ones; below zero for less.
        change: f64,
    },
}

/// The sewings of a book in order of date.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    /// Every sewing with a date, earliest first; those of one day in the order of the file.
    pub points: Vec<HistoryPoint>,
    /// Measured sewings without a date, which are left out.
    pub undated: usize,
    /// What is usual: the mean of the first standardised effects; `None` while there are too few.
    pub centre: Option<f64>,
    /// Scatter of standardised effects between sewings.
    pub scatter: Option<f64>,
    /// What it comes to.
    pub drift: Drift,
}

impl History {
    /// Sewings outside their limits.
    pub fn out_of_limits(&self) -> impl Iterator<Item = &HistoryPoint> {
        self.points.iter().filter(|point| point.out_of_limits)
    }
}

/// Where a drift began.
struct Since<'a>(&'a Name, &'a Date, f64);

impl Serialize for Since<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(trial, date, change) = self;
        fields!(serializer, "trial": trial, "date": date.to_string(), "change": change)
    }
}

/// With the figures that it was judged by.
impl Serialize for History {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (verdict, since) = match &self.drift {
            Drift::TooFew { .. } => ("too_few", None),
            Drift::Steady => ("steady", None),
            Drift::Drifting { trial, since, change } => {
                ("drifting", Some(Since(trial, since, *change)))
            }
        };
        fields!(serializer,
            "verdict": verdict,
            "since": since,
            "sewings_needed": ENOUGH_SEWINGS,
            "baseline": BASELINE,
            "limit": LIMIT,
            "lambda": LAMBDA,
            "centre": self.centre,
            "scatter": self.scatter,
            "undated": self.undated,
            "points": self.points,
        )
    }
}

/// Puts the sewing effects of a fit in order of date and looks for a change. Source:
/// docs/model.md, "Sewings in order of date".
pub fn history(all: &Observations, effects: &[SewingEffect]) -> History {
    let mut points: Vec<HistoryPoint> = effects.iter().filter_map(|one| point(all, one)).collect();
    let undated = effects.len() - points.len();
    points.sort_by_key(|point| point.date);
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

/// The moving average has been on one side of its centre since some sewing; when it was out of
/// its limits anywhere since then, it drifts.
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
