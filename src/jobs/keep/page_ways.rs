//! Where a kept forecast or a saved plan leads on the page.

use super::answer_options::{kept_words, plan_options};
use crate::page::address::address;
use crate::trade::{KeptForecast, PlanWords, SavedPlan, Target};

/// The addresses of what can be done with a kept forecast or a saved plan.
pub(crate) struct Ways {
    /// Where it is opened as a plan, and its bench card; none for a plan in words of a person's own.
    pub open: Option<String>,
    pub card: Option<String>,
    pub part_way: String,
    pub strike: String,
}

impl Ways {
    fn of(words: Option<&PlanWords>, plan: &str, (kind, id): (&str, &str)) -> Self {
        let options = words.map(plan_options);
        let leading = |path| {
            let pairs = options.iter().flatten().map(|(name, value)| (*name, Some(value.as_str())));
            words.map(|_| address(path, &pairs.collect::<Vec<_>>()))
        };
        Self {
            open: leading("/plan/way"),
            card: leading("/plan/card"),
            part_way: address("/part-way", &[("plan", Some(plan))]),
            strike: address("/strike", &[("kind", Some(kind)), ("ids", Some(id))]),
        }
    }
}

/// Those of the forecast with this id.
pub(crate) fn ways(forecast: &KeptForecast, id: &str, targets: &[Target]) -> Ways {
    Ways::of(kept_words(forecast, targets).as_ref(), id, ("forecast", id))
}

/// How a list of kept forecasts, which go by their ids, names a saved plan: no name begins so.
pub(crate) fn saved_id(plan: &SavedPlan) -> String {
    format!("={}", plan.name)
}

/// Those of a saved plan.
pub(crate) fn saved_ways(plan: &SavedPlan) -> Ways {
    Ways::of(Some(&plan.words), &saved_id(plan), ("plan", plan.name.as_str()))
}
