//! Invented pools of beliefs.

use std::collections::BTreeMap;
use swellbook::book::{PoolFile, PooledBelief};
use swellbook::model::{Beliefs, Coefficient, SwellSpread};

/// A pool whose thread shows more than in common practice, with half the uncertainty about
/// everything and without correlations.
pub fn pool() -> PoolFile {
    let common = Beliefs::default();
    let belief = |coefficient: Coefficient| {
        let belief = common.coefficient(coefficient);
        let more = if coefficient == Coefficient::Factor { 0.1 } else { 0.0 };
        let (mean, sd) = (belief.mean + more, belief.sd / 2.0);
        let belief = PooledBelief { mean, sd, between: sd / 2.0, correlations: BTreeMap::new() };
        (coefficient.name().to_owned(), belief)
    };
    let scale = |spread: SwellSpread| (spread.name().to_owned(), common.scale(spread) / 2.0);
    PoolFile {
        benches: 42,
        trials: 610,
        made: "2026-02-20".to_owned(),
        beliefs: Coefficient::ALL.map(belief).into(),
        spreads: SwellSpread::ALL.map(scale).into(),
    }
}

/// The same pool with correlations of these pairs.
pub fn correlated(pairs: &[(&str, &str, f64)]) -> PoolFile {
    let mut pool = pool();
    for &(one, two, number) in pairs {
        for (own, other) in [(one, two), (two, one)] {
            let belief = pool.beliefs.get_mut(own).expect("a belief");
            belief.correlations.insert(other.to_owned(), number);
        }
    }
    pool
}
