//! Builds the forecast to save, so that it can be compared with the measured sewing later.

use crate::book::Book;
use crate::jobs::forecast::answer::Forecast;
use crate::trade::{
    Aim, KeptBlock, KeptForecast, KeptPlan, KeptPlanError, KeptRun, Name, OutOfRange,
    QuantilesError, State, SwellQuantiles, TargetError, Wanted,
};
use jiff::civil::Date;
use thiserror::Error;

/// Why a forecast is not kept.
#[derive(Debug, PartialEq, Error)]
pub enum KeepError {
    #[error(
        "'{name}' is already measured {}, and a forecast must be saved before the book is \
         measured; give the name of a sewing still to come",
        state.phrase()
    )]
    Measured {
        name: Name,
        /// The state of the forecast, in which the trial already has readings.
        state: State,
    },
    #[error(transparent)]
    Plan(#[from] KeptPlanError),
    /// The predicted swell is impossible for a block.
    #[error(transparent)]
    Swell(#[from] QuantilesError),
    /// The bounds of the target are impossible.
    #[error(transparent)]
    Target(#[from] TargetError),
    #[error(transparent)]
    Chance(#[from] OutOfRange),
}

/// `forecast` in the form that is saved. `made` is today; `name` is the trial that the sewing will
/// become.
///
/// # Errors
/// [`KeepError`], mainly for a trial that was already measured in the forecast's state.
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
    let (low, high) = forecast.middle_half;
    let percent = forecast.percent;
    Ok(KeptForecast {
        name: name.clone(),
        made,
        plan: plan(forecast)?,
        swell: SwellQuantiles::new([percent.q05, low, percent.q50, high, percent.q95])?,
        aim: aim(book, forecast)?,
        outcome_percent: None,
    })
}

fn plan(forecast: &Forecast) -> Result<KeptPlan, KeptPlanError> {
    let plan = &forecast.plan;
    let block = KeptBlock {
        state: plan.state,
        guards_mm: plan.guards_mm,
        fore_edge_mm: plan.fore_edge.map(|edge| edge.mean),
    };
    let runs: Vec<KeptRun<'_>> = (plan.runs().iter())
        .map(|run| KeptRun {
            paper: &run.paper.name,
            thread: &run.thread.name,
            sewing: run.sewing,
            boned: run.boned,
        })
        .collect();
    KeptPlan::new(block, &runs)
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
