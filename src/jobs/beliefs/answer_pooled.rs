//! The beliefs of a pool, after checking its names against the model's.

use crate::book::{PoolFile, PooledBelief};
use crate::model::{Beliefs, Coefficient, ModelError, Square, SwellSpread};
use crate::units::shown;
use std::collections::BTreeMap;
use thiserror::Error;

/// Why a pool is refused, without the name of its file.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{0}")]
pub(crate) struct PoolFault(String);

impl PoolFault {
    /// The faults, one per line, each prefixed with `place`.
    pub fn at(&self, place: &str) -> String {
        let lines: Vec<String> = self.0.lines().map(|line| format!("{place}: {line}")).collect();
        lines.join("\n")
    }
}

pub(crate) fn pooled(pool: &PoolFile) -> Result<Beliefs, PoolFault> {
    let names = Coefficient::ALL.map(Coefficient::name);
    let faults: Vec<String> = named("beliefs", &pool.beliefs, &names)
        .chain(named("spreads", &pool.spreads, &SwellSpread::ALL.map(SwellSpread::name)))
        .collect();
    if !faults.is_empty() {
        return Err(PoolFault(faults.join("\n")));
    }
    let of = |name: &str| &pool.beliefs[name];
    let covariance: Square = std::array::from_fn(|at| {
        std::array::from_fn(|other| covariance(of(names[at]), of(names[other]), names[other]))
    });
    let means = names.map(|name| of(name).mean);
    let scales = SwellSpread::ALL.map(|spread| pool.spreads[spread.name()]);
    Beliefs::correlated(means, &covariance, scales).map_err(|error| match error {
        ModelError::Belief { message } => PoolFault(message),
        error @ (ModelError::Summary { .. } | ModelError::Plan { .. } | ModelError::Engine(_)) => {
            PoolFault(error.to_string())
        }
    })
}

/// The covariance of two beliefs, `name` being that of the other; the variance, if both are the
/// same one.
fn covariance(one: &PooledBelief, other: &PooledBelief, name: &str) -> f64 {
    let correlation = if std::ptr::eq(one, other) {
        1.0
    } else {
        one.correlations.get(name).copied().unwrap_or_default()
    };
    correlation * (one.sd * other.sd)
}

/// The faults of a table: names that are unknown or missing.
fn named<'a, T>(
    table: &'a str,
    found: &'a BTreeMap<String, T>,
    known: &'a [&'static str],
) -> impl Iterator<Item = String> {
    let is_known = |name: &&String| !known.contains(&name.as_str());
    let listed = known.join(", ");
    let unknown = found.keys().filter(is_known).map(move |name| {
        format!("[{table}] {} is not a belief of the model; expected one of {listed}", shown(name))
    });
    let missing = known.iter().filter(|name| !found.contains_key(**name));
    unknown.chain(
        missing
            .map(move |name| format!("[{table}] {name} is missing; a pool has a value for each")),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{pool_text, read_pool_file};
    use crate::jobs::beliefs::answer_test_pool::pool;

    #[test]
    fn a_pool_gives_its_means_deviations_correlations_and_scales_to_the_last_digit() {
        let (pool, common) = (pool(), Beliefs::default());
        let beliefs = pooled(&pool).unwrap();
        for coefficient in Coefficient::ALL {
            let belief = beliefs.coefficient(coefficient);
            let common = common.coefficient(coefficient);
            assert_eq!((belief.mean, belief.sd), (common.mean, common.sd / 2.0), "{coefficient:?}");
        }
        for spread in SwellSpread::ALL {
            assert_eq!(beliefs.scale(spread), common.scale(spread), "{spread:?}");
        }
        let (factor, hard) = (Coefficient::Factor, Coefficient::Hard);
        for (one, other) in [(factor, hard), (hard, factor)] {
            assert!((beliefs.correlation(one, other) + 0.25).abs() < 1e-15, "{one:?} {other:?}");
        }
        assert_eq!(beliefs.correlation(factor, Coefficient::Soft), 0.0);
    }

    #[test]
    fn a_pool_that_was_cut_off_is_refused_wherever_that_was() {
        let (whole, last) = (pool_text(&pool()), "stage = 0.03\nthread");
        assert!(whole.contains(last) && whole.ends_with("thread = 0.05\n"), "{whole}");
        // A cut inside the last number leaves another valid number, and its line end carries no
        // data.
        let end = whole.rfind("0.05\n").unwrap();
        for length in 0..end {
            let read = read_pool_file(&whole.as_bytes()[..length], "p.toml");
            let is_refused = read.map_or(true, |pool| pooled(&pool).is_err());
            assert!(is_refused, "{length}");
        }
        assert!(pooled(&read_pool_file(whole.as_bytes(), "p.toml").unwrap()).is_ok());
    }

    #[test]
    fn every_name_that_is_unknown_or_missing_is_named_at_once() {
        let mut pool = pool();
        let belief = pool.beliefs.remove("two_on").unwrap();
        pool.beliefs.insert("three_on\u{1b}".to_owned(), belief);
        pool.spreads.remove("hand");
        let text = pooled(&pool).unwrap_err().to_string();
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[0].starts_with("[beliefs] three_on\\u{1b} is not a belief"), "{text}");
        assert!(lines[0].contains("expected one of factor, hard, soft"), "{text}");
        assert!(lines[1].starts_with("[beliefs] two_on is missing"), "{text}");
        assert!(lines[2].starts_with("[spreads] hand is missing"), "{text}");
        assert_eq!(lines.len(), 3, "{text}");
    }
}
