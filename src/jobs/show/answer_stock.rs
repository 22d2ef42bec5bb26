//! Papers, threads, targets, saved plans and kept forecasts, with what was made with them.

use super::answer_trial::HeldTrial;
use crate::book::Book;
use crate::jobs::fitted::BenchError;
use crate::jobs::record::answer_changed::Factor;
use crate::jobs::track::answer::{Followed, followed, is_last};
use crate::jobs::track::answer_days::DaysTaken;
use crate::model::mixed::Summary;
use crate::observe::{DownWeighted, observe};
use crate::trade::{KeptForecast, Name, Paper, SavedPlan, Target, Thread};
use crate::units::fields_of;

/// A paper, its trials, and what they taught, once that is worked out.
#[derive(Clone, Debug)]
pub(crate) struct HeldPaper<'b> {
    pub paper: &'b Paper,
    pub trials: Vec<HeldTrial<'b>>,
    /// The factor of the paper, knocked down.
    pub knocked: Option<Factor>,
}

/// A thread, like [`HeldPaper`].
#[derive(Clone, Debug)]
pub(crate) struct HeldThread<'b> {
    pub thread: &'b Thread,
    pub trials: Vec<HeldTrial<'b>>,
    /// What the thread adds to the factor beyond the effect of its diameter.
    pub effect: Option<Summary>,
}

/// A target, and the forecasts that aimed at it.
#[derive(Clone, Debug)]
pub(crate) struct HeldTarget<'b> {
    pub target: &'b Target,
    pub forecasts: Vec<HeldForecast<'b>>,
}

#[derive(Clone, Debug)]
pub(crate) struct HeldForecast<'b> {
    pub kept: &'b KeptForecast,
    /// The id for striking it.
    pub id: &'b str,
    /// Whether another forecast of the same name and state stands in its place.
    pub replaced: bool,
    pub followed: Followed,
    /// Whether readings out of line count less in the outcome than in plain means.
    pub is_weighed: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct HeldPlan<'b>(pub &'b SavedPlan);

fn names<'b>(trials: &[HeldTrial<'b>]) -> Vec<&'b Name> {
    trials.iter().map(|held| &held.trial.name).collect()
}

fields_of! { HeldPaper<'_>, |it|
    let paper = it.paper;
    "paper": paper.name,
    "grammage_gsm": paper.grammage,
    "caliper_mm": paper.caliper(),
    "hardness": paper.hardness,
    "note": paper.note,
    "trials": names(&it.trials),
    "knocked": it.knocked.map(|it| it.factor),
    "nominal": it.knocked.map(|it| it.nominal),
}

fields_of! { HeldThread<'_>, |it|
    let thread = it.thread;
    "thread": thread.name,
    "material": thread.material,
    "count": thread.count().map(|count| count.to_string()),
    "laid_mm": thread.diameter(),
    "measured": thread.laid().is_some(),
    "note": thread.note,
    "trials": names(&it.trials),
    "effect": it.effect,
}

fields_of! { HeldTarget<'_>, |it|
    let target = it.target;
    "target": target.name,
    "low_percent": target.low_percent(),
    "high_percent": target.high_percent(),
    "note": target.note,
    "forecasts": it.forecasts.iter().map(|held| held.id).collect::<Vec<_>>(),
}

fields_of! { HeldForecast<'_>, |it|
    let kept = it.kept;
    let aim = kept.aim.as_ref();
    "forecast": kept.name,
    "id": it.id,
    "made": kept.made.to_string(),
    "state": kept.plan.state(),
    "plan": kept.plan.text(),
    "swell_percent": kept.swell,
    "target": aim.map(|aim| &aim.wanted),
    "chance": aim.map(crate::trade::Aim::chance),
    "outcome": it.followed.outcome,
    "sewn_otherwise": it.followed.sewn_otherwise,
    "made_too_late": it.followed.made_too_late,
    "replaced": it.replaced,
}

fields_of! { HeldPlan<'_>, |it|
    let Self(plan) = it;
    "plan": plan.name,
    "made": plan.made.to_string(),
    "words": plan.words.to_string(),
}

pub(super) fn papers<'b>(book: &'b Book, trials: &[HeldTrial<'b>]) -> Vec<HeldPaper<'b>> {
    let of = |paper: &'b Paper| {
        let own = trials.iter().filter(|held| held.trial.paper == paper.name);
        HeldPaper { paper, trials: own.cloned().collect(), knocked: None }
    };
    book.papers().iter().map(of).collect()
}

pub(super) fn threads<'b>(book: &'b Book, trials: &[HeldTrial<'b>]) -> Vec<HeldThread<'b>> {
    let of = |thread: &'b Thread| {
        let own = trials.iter().filter(|held| held.trial.thread == thread.name);
        HeldThread { thread, trials: own.cloned().collect(), effect: None }
    };
    book.threads().iter().map(of).collect()
}

pub(super) fn targets<'b>(book: &'b Book, forecasts: &[HeldForecast<'b>]) -> Vec<HeldTarget<'b>> {
    let of = |target: &'b Target| {
        let aims = |held: &&HeldForecast<'_>| {
            let aim = held.kept.aim.as_ref();
            aim.and_then(|aim| aim.wanted.name()) == Some(&target.name)
        };
        HeldTarget { target, forecasts: forecasts.iter().filter(aims).cloned().collect() }
    };
    book.targets().iter().map(of).collect()
}

/// The kept forecasts, newest first.
pub(super) fn forecasts(book: &Book) -> Result<Vec<HeldForecast<'_>>, BenchError> {
    if book.forecasts().is_empty() {
        return Ok(Vec::new());
    }
    let (all, days) = (observe(book)?, DaysTaken::of(book.readings()));
    let each = book.forecasts().iter().zip(book.forecast_ids());
    let held = each.map(|(kept, id)| {
        let is_own = |it: &DownWeighted| (&it.trial, it.state) == (&kept.name, kept.plan.state());
        let (followed, replaced) = (followed(kept, &all, &days), false);
        let is_weighed = all.down_weighted.iter().any(is_own);
        HeldForecast { kept, id, replaced, followed, is_weighed }
    });
    let mut held: Vec<HeldForecast<'_>> = held.collect();
    let last = is_last(held.iter().map(|held| &held.followed));
    held.iter_mut().zip(last).for_each(|(held, last)| held.replaced = !last);
    held.reverse();
    Ok(held)
}
