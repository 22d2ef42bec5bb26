//! Builds the forecast to save, so that it can be compared with the measured sewing later.

use crate::book::Book;
use crate::jobs::forecast::answer::{Forecast, WantedByGeometry};
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::model::Run;
use crate::trade::{
    Aim, Guards, KeptBlock, KeptForecast, KeptPaper, KeptPlan, KeptPlanError, KeptRun, Name,
    OutOfRange, QuantilesError, SpineGeometry, State, SwellQuantiles, TargetError, Wanted,
};
use crate::units::Millimetres;
use jiff::civil::Date;
use thiserror::Error;

#[derive(Debug, PartialEq, Error)]
pub enum KeepError {
    #[error(
        "'{name}' is already measured {}, and a forecast must be saved before the book is \
         measured; give the name of a sewing still to come",
        state.phrase()
    )]
    Measured { name: Name, state: State },
    #[error(transparent)]
    Plan(#[from] KeptPlanError),
    #[error(transparent)]
    Swell(#[from] QuantilesError),
    #[error(transparent)]
    Target(#[from] TargetError),
    #[error(transparent)]
    Chance(#[from] OutOfRange),
}

/// `forecast` in the form that is saved. `made` is today; `name` is the trial that the sewing will
/// become.
pub fn kept(
    book: &Book,
    forecast: &Forecast,
    name: &Name,
    made: Date,
) -> Result<KeptForecast, KeepError> {
    let state = forecast.plan.state;
    let measured =
        |reading: &crate::trade::Reading| reading.trial == *name && reading.state == state;
    if book.readings().iter().any(measured) {
        return Err(KeepError::Measured { name: name.clone(), state });
    }
    Ok(KeptForecast {
        name: name.clone(),
        made,
        plan: plan(book, forecast)?,
        swell: swell(forecast)?,
        aim: aim(book, forecast)?,
        outcome_percent: None,
    })
}

fn swell(forecast: &Forecast) -> Result<SwellQuantiles, QuantilesError> {
    let PercentRange { q05, q25, q50, q75, q95 } = forecast.percent;
    SwellQuantiles::new([q05, q25, q50, q75, q95])
}

/// The figures of a forecast as a text. A page sends back those that it has shown.
pub(crate) fn figures(forecast: &Forecast) -> String {
    let swell = swell(forecast).map(|it| it.to_string()).unwrap_or_default();
    let chance = forecast.chance.map(|it| format!(" {it:.4}")).unwrap_or_default();
    format!("{swell}{chance}")
}

fn plan(book: &Book, forecast: &Forecast) -> Result<KeptPlan, KeptPlanError> {
    let plan = &forecast.plan;
    let shape = |shape: &WantedByGeometry| {
        SpineGeometry::new(shape.round_degrees, Millimetres::new(shape.shoulder_mm)).ok()
    };
    let built_up = (plan.guards_mm > 0.0).then_some(Guards::BuildUp(plan.guards_mm));
    let block = KeptBlock {
        state: plan.state,
        hand: forecast.hand.as_deref(),
        guards: forecast.said.guards.or(built_up),
        fore_edge_mm: plan.fore_edge.map(|edge| edge.mean),
        geometry: forecast.geometry.as_ref().and_then(shape),
        by_geometry: forecast.said.by_geometry,
    };
    let runs: Vec<KeptRun<'_>> = plan.runs().iter().map(|run| kept_run(book, run)).collect();
    KeptPlan::new(block, &runs)
}

/// A run, with the sizes of a paper and a thread that are not in the book.
fn kept_run<'r>(book: &Book, run: &'r Run) -> KeptRun<'r> {
    let (paper, thread) = (&run.paper, &run.thread);
    let is_new = book.papers().iter().all(|known| known.name != paper.name);
    let new_paper = KeptPaper { caliper_mm: paper.caliper_mm, hardness: paper.hardness };
    let is_new_thread = book.threads().iter().all(|known| known.name != thread.name);
    KeptRun {
        paper: &paper.name,
        new_paper: is_new.then_some(new_paper),
        thread: &thread.name,
        laid_mm: is_new_thread.then_some(thread.diameter_mm),
        sewing: run.sewing,
        boned: run.boned,
    }
}

/// The target; it has a name only if it is one of the book's, not for typed bounds.
fn aim(book: &Book, forecast: &Forecast) -> Result<Option<Aim>, KeepError> {
    let (Some(band), Some(chance)) = (&forecast.target, forecast.chance) else { return Ok(None) };
    let name = book.targets().iter().map(|target| &target.name);
    let name = name.clone().find(|name| name.as_str() == band.name).cloned();
    let wanted = Wanted::new(name, band.low_percent, band.high_percent)?;
    // Rounding may put a sum of shares above one by its last bit.
    Ok(Some(Aim::new(wanted, chance.clamp(0.0, 1.0))?))
}
