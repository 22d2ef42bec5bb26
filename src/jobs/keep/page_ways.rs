//! Links of a kept forecast or a saved plan on the bench page.

use super::answer_options::{kept_words, plan_options};
use crate::book::{Book, EntryKind};
use crate::page::address::address;
use crate::page::form::given;
use crate::trade::{KeptForecast, PlanWords, SavedPlan};

/// Addresses of the actions for a kept forecast or a saved plan.
pub(crate) struct Ways {
    /// Opens it as a plan; `card` is its bench card. `None` for a plan in free text.
    pub open: Option<String>,
    pub card: Option<String>,
    pub part_way: String,
    pub strike: String,
}

impl Ways {
    fn of(words: Option<&PlanWords>, plan: &str, kind: EntryKind, id: &str) -> Self {
        let options = words.map(plan_options);
        let leading = |path| {
            let pairs = options.iter().flatten().map(|(name, value)| (*name, Some(given(value))));
            words.map(|_| address(path, &pairs.collect::<Vec<_>>()))
        };
        Self {
            open: leading("/plan/way"),
            card: leading("/plan/card"),
            part_way: address("/part-way", &[("plan", Some(plan))]),
            strike: address("/strike", &[("kind", Some(kind.word())), ("ids", Some(id))]),
        }
    }
}

pub(crate) fn ways(forecast: &KeptForecast, id: &str, book: &Book) -> Ways {
    Ways::of(kept_words(forecast, book).as_ref(), id, EntryKind::Forecast, id)
}

/// The id of a saved plan in a list that also holds kept forecasts by their ids. It starts with
/// `=`, which no name does.
pub(crate) fn saved_id(plan: &SavedPlan) -> String {
    format!("={}", plan.name)
}

pub(crate) fn saved_ways(plan: &SavedPlan) -> Ways {
    Ways::of(Some(&plan.words), &saved_id(plan), EntryKind::Plan, plan.name.as_str())
}
