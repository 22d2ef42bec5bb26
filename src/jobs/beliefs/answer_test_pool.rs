//! A pool for tests.

use crate::book::{PoolFile, PooledBelief};
use crate::model::{Beliefs, Coefficient, SwellSpread};

/// Invented: common practice with half its standard deviations, and one pair of correlated beliefs.
pub(crate) fn pool() -> PoolFile {
    let common = Beliefs::default();
    let belief = |coefficient: Coefficient| {
        let belief = common.coefficient(coefficient);
        let pairs: &[(&str, f64)] = match coefficient {
            Coefficient::Factor => &[("hard", -0.25)],
            Coefficient::Hard => &[("factor", -0.25)],
            _ => &[],
        };
        let correlations = pairs.iter().map(|&(name, r)| (name.to_owned(), r)).collect();
        let (mean, sd) = (belief.mean, belief.sd / 2.0);
        let belief = PooledBelief { mean, sd, between: sd / 2.0, correlations };
        (coefficient.name().to_owned(), belief)
    };
    let scale = |spread: SwellSpread| (spread.name().to_owned(), common.scale(spread));
    PoolFile {
        benches: 42,
        trials: 610,
        made: "2026-11-20".to_owned(),
        beliefs: Coefficient::ALL.map(belief).into(),
        spreads: SwellSpread::ALL.map(scale).into(),
    }
}
