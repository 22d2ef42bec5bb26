//! Pools summaries: what a new bench should believe, and which benches do not fit.

use crate::book::{ChosenPool, Config, PoolFile, PooledBelief, SummaryFile, summary_number};
use crate::jobs::beliefs::answer::{Set, Shown, shown};
use crate::model::{
    BenchLikelihood, BenchStanding, Coefficient, ModelError, Off, PoolError, Pooled, Pooling,
    SwellSpread, pool,
};
use crate::units::fields_of;
use serde::Serialize;
use std::collections::BTreeMap;
use thiserror::Error;

#[derive(Clone, Debug)]
pub struct Summary {
    /// The file's name in messages.
    pub name: String,
    pub file: SummaryFile,
    /// Its content in the form that the model takes.
    pub learnt: BenchLikelihood,
}

#[derive(Debug, Error)]
pub enum NoPool {
    /// A summary that no readings can have produced.
    #[error("{file}: {why}; ask the bench for a new file: swellbook export --summary FILE")]
    Impossible { file: String, why: &'static str },
    /// Pooling has no solution.
    #[error(transparent)]
    Sum(PoolError),
    /// The model cannot use the pooled beliefs.
    #[error(transparent)]
    Model(#[from] ModelError),
}

fields_of! { Off, |it|
    "coefficient": it.coefficient.name(),
    "by": it.by,
    "deviations": it.deviations,
}

/// A bench that does not fit the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Apart {
    pub file: String,
    /// Its weight, where 1 is a full bench.
    pub weight: f64,
    pub odd: Vec<Off>,
    /// The spreads for which it has a reduced weight.
    pub spreads: Vec<&'static str>,
}

/// A file with the same summary as another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Same {
    pub file: String,
    pub same_as: String,
}

/// How much the share of the thread that shows differs between benches.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(crate) struct Differ {
    /// Standard deviation.
    pub found: f64,
    /// The standard deviation that common practice assumes.
    pub believed: f64,
}

/// The largest distance of the first prediction of the typical book from the truth, with 90 %
/// chance, in percentage points.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(crate) struct Within {
    pub pool: f64,
    pub common_practice: f64,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PoolAnswer {
    #[serde(skip)]
    pub(crate) file: PoolFile,
    #[serde(skip)]
    pub(crate) shown: Shown,
    pub(crate) benches: u64,
    pub(crate) trials: u64,
    pub(crate) made: String,
    pub(crate) beliefs: Set,
    pub(crate) common_practice: Set,
    pub(crate) factor_differs: Differ,
    pub(crate) first_prediction_within: Within,
    pub(crate) apart: Vec<Apart>,
    pub(crate) same: Vec<Same>,
}

impl PoolAnswer {
    pub fn file(&self) -> &PoolFile {
        &self.file
    }
}

/// Pools summaries; their order does not matter.
pub fn pooled(summaries: &[Summary], made: &str) -> Result<PoolAnswer, NoPool> {
    let learnt: Vec<BenchLikelihood> = summaries.iter().map(|one| one.learnt.clone()).collect();
    let found = pool(&learnt, Pooling::Regularised).map_err(|error| match error {
        PoolError::Impossible { bench, why } => {
            NoPool::Impossible { file: summaries[bench].name.clone(), why }
        }
        PoolError::Open | PoolError::NoEnd { .. } => NoPool::Sum(error),
    })?;
    let each = || summaries.iter().zip(&found.benches);
    let counted = || each().filter(|(_, standing)| standing.twin.is_none());
    let file = PoolFile {
        benches: counted().count() as u64,
        trials: counted().map(|(one, _)| one.file.counts.trials).sum(),
        made: made.to_owned(),
        beliefs: beliefs(&found.pooled),
        spreads: spreads(&found.pooled),
    };
    let apart = counted().filter_map(|(one, standing)| apart(one, standing)).collect();
    let same = each().filter_map(|(one, standing)| {
        Some(Same { file: one.name.clone(), same_as: summaries[standing.twin?].name.clone() })
    });
    let same = same.collect();
    answer(file, apart, same)
}

fn answer(file: PoolFile, apart: Vec<Apart>, same: Vec<Same>) -> Result<PoolAnswer, NoPool> {
    let chosen = ChosenPool {
        file: String::new(),
        sha256: String::new(),
        chosen: file.made.clone(),
        pool: file,
    };
    let shown = shown(&Config::default(), Some(Some(&chosen)))?;
    let file = chosen.pool;
    let beliefs = shown.offered.as_ref().map_or(&shown.now, |offered| &offered.set).clone();
    let common_practice = shown.common_practice.clone();
    let within = |set: &Set| (set.example.q95 - set.example.q05) / 2.0;
    let factor = Coefficient::Factor.name();
    Ok(PoolAnswer {
        benches: file.benches,
        trials: file.trials,
        made: file.made.clone(),
        factor_differs: Differ {
            found: file.beliefs[factor].between,
            believed: Pooled::common_practice().between[0][0].sqrt(),
        },
        first_prediction_within: Within {
            pool: within(&beliefs),
            common_practice: within(&common_practice),
        },
        beliefs,
        common_practice,
        shown,
        file,
        apart,
        same,
    })
}

/// The pooled beliefs with twelve digits, as in the summaries.
fn beliefs(pooled: &Pooled) -> BTreeMap<String, PooledBelief> {
    let sd = |at: usize| pooled.covariance[at][at].sqrt();
    let belief = |coefficient: Coefficient| {
        let at = coefficient as usize;
        let others = Coefficient::ALL.into_iter().filter(|other| *other != coefficient);
        let correlations = others.map(|other| {
            let to = other as usize;
            (other.name().to_owned(), summary_number(pooled.covariance[at][to] / (sd(at) * sd(to))))
        });
        let belief = PooledBelief {
            mean: summary_number(pooled.means[at]),
            sd: summary_number(sd(at)),
            between: summary_number(pooled.between[at][at].sqrt()),
            correlations: correlations.collect(),
        };
        (coefficient.name().to_owned(), belief)
    };
    Coefficient::ALL.map(belief).into()
}

fn spreads(pooled: &Pooled) -> BTreeMap<String, f64> {
    let scale = |one: SwellSpread| summary_number(pooled.scales[one as usize]);
    SwellSpread::ALL.map(|one| (one.name().to_owned(), scale(one))).into()
}

/// `Some` for a bench that is far from the others or has a reduced weight.
fn apart(one: &Summary, standing: &BenchStanding) -> Option<Apart> {
    let less = SwellSpread::ALL.into_iter().zip(standing.spread_weights);
    let spreads: Vec<_> =
        less.filter(|(_, weight)| *weight < 1.0).map(|(spread, _)| spread.name()).collect();
    let fits = standing.off.is_empty() && standing.weight == 1.0 && spreads.is_empty();
    let odd = standing.off.clone();
    (!fits).then(|| Apart { file: one.name.clone(), weight: standing.weight, odd, spreads })
}
