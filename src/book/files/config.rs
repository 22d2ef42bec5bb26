use super::pool_file::ChosenPool;
use crate::units::{LengthUnit, Millimetres};
use std::collections::BTreeMap;

/// A belief of the swell model that the book overrides. The model knows the names.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BeliefOverride {
    pub mean: Option<f64>,
    pub sd: Option<f64>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Config {
    pub title: String,
    /// The unit of plain numbers typed at the command line.
    pub unit: LengthUnit,
    pub resolution: Millimetres,
    /// `[beliefs]`: coefficient by name.
    pub beliefs: BTreeMap<String, BeliefOverride>,
    /// `[spreads]`: half-normal scale by name.
    pub spreads: BTreeMap<String, f64>,
    /// `[pool]`: what many benches learnt. `beliefs` and `spreads` are applied on top of it.
    pub pool: Option<ChosenPool>,
}

impl Default for Config {
    /// No title, millimetres, and a gauge that shows hundredths.
    fn default() -> Self {
        Self {
            title: String::new(),
            unit: LengthUnit::default(),
            resolution: Millimetres::new(0.01).unwrap_or_else(|| unreachable!("it is finite")),
            beliefs: BTreeMap::new(),
            spreads: BTreeMap::new(),
            pool: None,
        }
    }
}
