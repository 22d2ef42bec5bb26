//! The lists of saved plans and kept forecasts, with their links.

use crate::book::Book;
use crate::jobs::entries::text::plan_words;
use crate::jobs::keep::page_ways::{Ways, saved_ways, ways};
use crate::jobs::keep::text::forecast_words;
use crate::terminal::words::capital;
use crate::trade::{KeptForecast, SavedPlan};

pub(super) struct Listed {
    pub name: String,
    pub words: String,
    pub made: String,
    pub ways: Ways,
}

/// Splits off the plans that are shown at once from those that are folded away.
pub(super) fn first_few(mut plans: Vec<Listed>) -> (Vec<Listed>, Vec<Listed>) {
    let more = plans.split_off(plans.len().min(5));
    (plans, more)
}

/// The saved plans, newest first.
pub(super) fn saved_plans(book: &Book) -> Vec<Listed> {
    let plan = |plan: &SavedPlan| Listed {
        name: plan.name.to_string(),
        words: capital(&plan_words(plan)),
        made: plan.made.to_string(),
        ways: saved_ways(plan),
    };
    book.plans().iter().rev().map(plan).collect()
}

/// The kept forecasts, newest first.
pub(super) fn kept_plans(book: &Book) -> Vec<Listed> {
    let ids = book.forecasts().iter().zip(book.forecast_ids());
    let plan = |(forecast, id): (&KeptForecast, &String)| Listed {
        name: forecast.name.to_string(),
        words: capital(&forecast_words(forecast)),
        made: forecast.made.to_string(),
        ways: ways(forecast, id, book),
    };
    ids.rev().map(plan).collect()
}
