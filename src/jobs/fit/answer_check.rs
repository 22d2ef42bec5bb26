//! Checks of a fit: what it leaves unexplained, how it predicts left-out trials, and which trials
//! have the most influence.

use super::answer_bends::{BEND_LIMIT, Covariate, Looked, bends};
use crate::book::Book;
use crate::jobs::compare::answer::{CompareError, LEAST_TRIALS, LeftOut, judgements};
use crate::jobs::compare::answer_refit::{Judgement, Leaving, folds};
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::model::compare::{PredictiveCheck, predictive_checks};
use crate::model::mixed::Summary;
use crate::model::{Coefficient, holm};
use crate::units::fields_of;
use serde::{Serialize, Serializer};

/// A predictive check, corrected for the other checks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Checked {
    pub check: PredictiveCheck,
    /// Its chance after Holm's correction for all checks made.
    pub adjusted: f64,
}

impl Checked {
    pub fn is_out(&self) -> bool {
        self.adjusted < BEND_LIMIT
    }
}

// Includes the verdict, `out`.
fields_of! { Checked, |it|
    let PredictiveCheck { kind, value, chance } = it.check;
    "check": kind,
    "value": value,
    "chance": chance,
    "adjusted": it.adjusted,
    "out": it.is_out(),
}

/// The influence of one trial on the factor of its paper as sewn.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Influence {
    pub trial: String,
    pub paper: String,
    /// The paper's factor from all trials.
    pub factor: f64,
    pub without: f64,
    /// The difference in standard deviations of the factor from all trials.
    pub deviations: f64,
}

#[derive(Clone, Debug, Serialize)]
pub struct Check {
    pub trials: usize,
    pub refits: usize,
    /// How many of these were fitted from scratch.
    pub exact_refits: usize,
    #[serde(skip)]
    pub looked: Vec<Looked>,
    #[serde(serialize_with = "by_covariate")]
    pub terms: Vec<Term>,
    pub checks: Vec<Checked>,
    /// The influence of each trial, largest first; empty if trials were left out in parts.
    pub weights: Vec<Influence>,
}

type Term = (Covariate, Coefficient, Summary);

fn by_covariate<S: Serializer>(terms: &[Term], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(terms.iter().map(|(covariate, _, summary)| (covariate, summary)))
}

/// Leaves every trial out in turn, and tests what the fit leaves unexplained. `watch` gets the
/// number of fits done and their total.
pub fn check(
    book: &Book,
    bench: &Bench,
    watch: &mut dyn FnMut(usize, usize),
) -> Result<Check, CompareError> {
    let parts = folds(&bench.observations, Leaving::Trial);
    let trials: usize = parts.iter().map(Vec::len).sum();
    if trials < LEAST_TRIALS {
        return Err(CompareError::FewTrials { trials });
    }
    let beliefs = beliefs(book.config()).map_err(BenchError::from)?;
    let looked = bends(bench, &beliefs).map_err(BenchError::from)?;
    let LeftOut { judgements: judged, exact_refits } =
        judgements(book, bench, Leaving::Trial, &parts, watch)?;
    let mut weights = Vec::new();
    if parts.len() == trials {
        weights = judged.iter().filter_map(|one| weight(bench, one)).collect();
        weights.sort_by(|a, b| b.deviations.abs().total_cmp(&a.deviations.abs()));
    }
    Ok(Check {
        trials,
        refits: parts.len(),
        exact_refits,
        terms: terms(bench, &looked),
        looked,
        checks: checks(bench, &judged),
        weights,
    })
}

fn terms(bench: &Bench, looked: &[Looked]) -> Vec<Term> {
    let effects = bench.fit.effects(&[]);
    let own = [
        (Covariate::Sections, Coefficient::Length),
        (Covariate::Sheets, Coefficient::Depth),
        (Covariate::Sewing, Coefficient::TwoOn),
    ];
    let there = |(covariate, _): &(Covariate, Coefficient)| {
        looked.iter().any(|one| one.covariate == *covariate)
    };
    let with = |(covariate, name)| (covariate, name, effects.coefficient(name));
    own.into_iter().filter(there).map(with).collect()
}

fn checks(bench: &Bench, judged: &[Judgement]) -> Vec<Checked> {
    let all = &bench.observations;
    let mut dated: Vec<_> = (judged.iter())
        .filter_map(|one| {
            let trial = one.block.trial;
            Some((all.trials[trial].date?, trial, one.standardised?))
        })
        .collect();
    dated.sort_by_key(|one| (one.0, one.1));
    let dated: Vec<f64> = dated.into_iter().map(|one| one.2).collect();
    let values: Vec<f64> = judged.iter().filter_map(|one| one.standardised).collect();
    let found = predictive_checks(&values, &dated);
    let adjusted = holm(&found.iter().map(|one| one.chance).collect::<Vec<_>>());
    found.into_iter().zip(adjusted).map(|(check, adjusted)| Checked { check, adjusted }).collect()
}

fn weight(bench: &Bench, one: &Judgement) -> Option<Influence> {
    let trial = &bench.observations.trials[one.block.trial];
    let known = bench.fit.paper_factor(trial.paper)?;
    let (factor, without) = (known.mean, one.factor_without?.mean);
    Some(Influence {
        trial: trial.name.to_string(),
        paper: bench.observations.papers[trial.paper].name.to_string(),
        factor,
        without,
        deviations: (factor - without) / known.sd,
    })
}
