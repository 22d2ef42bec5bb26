//! Track records, and sewings in order of date, for books drawn from the beliefs, through readings
//! and fits.

use crate::support::random_books::{Random, mm, name};
use crate::support::simulated::{Extent, Truth, World};
use jiff::civil::{Date, date};
use swellbook::book::Entries;
use swellbook::jobs::history::answer::{Drift, history};
use swellbook::jobs::track::answer::{TrackRecord, track_record};
use swellbook::model::{Beliefs, Plan, Prediction, Run, SwellFit, TrialBlock};
use swellbook::observe::{Observations, Weighing, observe_entries};
use swellbook::trade::{Aim, KeptForecast, Name, State, SwellQuantiles, Wanted};

/// When the forecasts of a record are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Made {
    /// All from one fit, before any of the books is sewn.
    AtOnce,
    /// All from one fit, with days as if each were made after the sewing before it.
    AtOnceWithOtherDays,
    /// Each after the sewing before it was measured, from a fit that includes it.
    OneByOne,
}

/// A number of forecasts of new books on tried papers.
#[derive(Clone, Copy)]
pub struct Record {
    pub extent: Extent,
    pub forecasts: usize,
    pub made: Made,
}

/// Days are two apart, so that the day between is later than one and earlier than the other.
fn day(step: usize) -> Date {
    let first = date(2026, 1, 1);
    first.checked_add(jiff::Span::new().days(2 * step as i64)).expect("a date")
}

fn observed(entries: &Entries) -> Observations {
    observe_entries(entries, mm(0.01), Weighing::Judged).expect("a simulated book is observed")
}

fn fitted(all: &Observations) -> Option<SwellFit> {
    SwellFit::new(all, &Beliefs::default()).ok()
}

/// The track record of a simulated book; `None` if a fit is refused.
pub fn recorded(seed: u64, what: Record) -> Option<TrackRecord> {
    let random = &mut Random::new(seed);
    let truth = Truth::draw(random, what.extent, World::default());
    let (mut entries, _) = truth.entries(random, what.extent.trials_each);
    let mut fit = fitted(&observed(&entries))?;
    let mut kept = Vec::new();
    for step in 0..what.forecasts {
        let run = truth.any_run(random);
        let called = name(&format!("book {step}"));
        let made = if what.made == Made::AtOnce { day(0) } else { day(step) };
        kept.push(forecast(random, &fit, &run, called.clone(), made));
        sew(random, &truth, &mut entries, Sewing { called, run, sewn: day(step), changed: 0.0 });
        if what.made == Made::OneByOne {
            fit = fitted(&observed(&entries))?;
        }
    }
    Some(track_record(&kept, &observed(&entries), &entries.readings))
}

/// A forecast as `predict --keep` writes it, with a target around its median.
fn forecast(
    random: &mut Random,
    fit: &SwellFit,
    run: &Run,
    called: Name,
    made: Date,
) -> KeptForecast {
    let plan = Plan::new(vec![run.clone()], State::Knocked).expect("a plan");
    let prediction: Prediction = fit.predict_each(&[plan]).remove(0);
    let quantiles = [0.05, 0.25, 0.5, 0.75, 0.95].map(|p| prediction.percent_quantile(p));
    let (low, high) =
        (quantiles[2] - random.between(1.0, 8.0), quantiles[2] + random.between(1.0, 8.0));
    let wanted = Wanted::new(None, low.max(0.1), high.max(0.2)).expect("a target");
    let chance = prediction.chance(wanted.low_percent(), wanted.high_percent());
    KeptForecast {
        name: called,
        made,
        plan: "state=knocked".parse().expect("a plan's text"),
        swell: SwellQuantiles::new(quantiles).expect("quantiles"),
        aim: Some(Aim::new(wanted, chance).expect("a chance")),
        outcome_percent: None,
    }
}

/// One sewing, and by how many spreads the hand has changed by then.
struct Sewing {
    called: Name,
    run: Run,
    sewn: Date,
    changed: f64,
}

fn sew(random: &mut Random, truth: &Truth, entries: &mut Entries, what: Sewing) {
    let states = vec![State::Sewn, State::Knocked];
    let block = TrialBlock { run: what.run, hand: 0, states, readings: 3 };
    let (mut trial, mut readings) =
        truth.sew_otherwise(random, &block, entries.trials.len(), what.changed);
    readings.iter_mut().for_each(|reading| reading.trial = what.called.clone());
    trial.name = what.called;
    trial.date = Some(what.sewn);
    entries.trials.push(trial);
    entries.readings.extend(readings);
}

/// Whether the hand is called drifting after `sewings` sewings of two papers, with every spread as
/// large as the scale of its belief. `step` is the sewing from which the hand has changed, and by
/// how many spreads. The number is by how many sewings the named day is off. `Err` if a fit is
/// refused.
pub fn drifting(
    seed: u64,
    sewings: usize,
    step: Option<(usize, f64)>,
) -> Result<Option<i32>, Refused> {
    let random = &mut Random::new(seed);
    let world = World { at_scale: true, ..World::default() };
    let truth = Truth::draw(random, Extent { papers: 2, trials_each: 0 }, world);
    let (mut entries, _) = truth.entries(random, 0);
    for index in 0..sewings {
        let changed = step.filter(|(from, _)| index >= *from).map_or(0.0, |(_, by)| by);
        let called = name(&format!("book {index}"));
        let run = truth.any_run(random);
        sew(random, &truth, &mut entries, Sewing { called, run, sewn: day(index), changed });
    }
    let all = observed(&entries);
    let fit = fitted(&all).ok_or(Refused)?;
    Ok(match history(&all, &fit.sewing_effects()).drift {
        Drift::Drifting { since, .. } => {
            Some((since - day(step.map_or(0, |(from, _)| from))).get_days() / 2)
        }
        Drift::Steady | Drift::TooFew { .. } => None,
    })
}

#[derive(Debug)]
pub struct Refused;
