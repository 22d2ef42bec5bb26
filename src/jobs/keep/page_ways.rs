//! Where a kept forecast leads on the page.

use super::answer_options::plan_options;
use crate::page::address::address;
use crate::trade::{KeptForecast, Target};

/// The addresses of what can be done with a kept forecast.
pub(crate) struct Ways {
    pub part_way: String,
    /// Its bench card; none for a plan in words of a person's own.
    pub card: Option<String>,
    pub strike: String,
}

/// Those of the forecast with this id.
pub(crate) fn ways(forecast: &KeptForecast, id: &str, targets: &[Target]) -> Ways {
    let card = plan_options(forecast, targets).map(|options| {
        let pairs = options.iter().map(|(name, value)| (*name, Some(value.as_str())));
        address("/plan/card", &pairs.collect::<Vec<_>>())
    });
    let strike = address("/strike", &[("kind", Some("forecast")), ("ids", Some(id))]);
    Ways { part_way: address("/part-way", &[("plan", Some(id))]), card, strike }
}
