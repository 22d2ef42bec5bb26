//! Trials whose swell is implausible given the fit of the others.

use crate::book::{Book, Finding, SetDoubt};
use crate::jobs::compare::answer_refit::block;
use crate::jobs::fitted::{BenchError, beliefs};
use crate::model::compare::{Surprise, SurpriseKind, trial_tail};
use crate::model::{Beliefs, SwellFit, WithoutSome};
use crate::observe::{Observations, Weighing, observe, observe_without};
use crate::trade::{Name, State};
use std::collections::BTreeSet;

/// A trial is doubtful if anything this far out, in any of its states, has less than this chance.
/// One in five books of 200 sound trials then has a trial named. Our choice, no source.
const FAR: f64 = 1e-3;
/// A book with more trials is not searched: each trial takes a fit of all the others, and
/// `fit --compare` leaves them out in parts.
const MOST_TRIALS: usize = 200;

/// Whether a book with this many trials is searched.
pub(super) fn is_looked_through(trials: usize) -> bool {
    trials <= MOST_TRIALS
}

/// One finding for each of these trials that is far from what all the others predict, at its most
/// surprising state.
pub(super) fn far_from_fit(book: &Book, trials: &[&Name]) -> Result<Vec<Finding>, BenchError> {
    if trials.is_empty() || !is_looked_through(book.trials().len()) {
        return Ok(Vec::new());
    }
    let (all, beliefs) = (observe(book)?, beliefs(book.config())?);
    // For a single trial, the others are fitted from scratch. For several, the draws of the whole
    // fit are reweighted.
    let whole = (trials.len() > 1).then(|| SwellFit::new(&all, &beliefs)).transpose()?;
    let without = whole.as_ref().map(|fit| fit.without_some(&beliefs));
    let known = Known { book, all: &all, beliefs: &beliefs, without: without.as_ref() };
    let found = trials.iter().map(|name| known.far(name));
    Ok(found.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

/// A book and the inputs of its fits.
struct Known<'a> {
    book: &'a Book,
    all: &'a Observations,
    beliefs: &'a Beliefs,
    without: Option<&'a WithoutSome<'a>>,
}

impl Known<'_> {
    fn far(&self, name: &Name) -> Result<Option<Finding>, BenchError> {
        let Self { book, all, beliefs, without } = *self;
        let at = all.trials.iter().position(|trial| trial.name == *name);
        let trial = book.trials().iter().find(|trial| trial.name == *name);
        let seen = |at: usize| all.rows.iter().any(|row| row.trial == at && row.state.has_thread());
        let Some((at, trial)) = at.filter(|at| seen(*at)).zip(trial) else { return Ok(None) };
        let others = observe_without(book, &BTreeSet::from([name]), Weighing::Judged)?;
        let block = block(all, &others, at, trial.sewing);
        let weighted = without.map(|fit| fit.weighted(&others)).transpose()?.flatten();
        let fit = weighted.map_or_else(|| SwellFit::new(&others, beliefs), Ok)?;
        let expected = fit.expect(std::slice::from_ref(&block))?;
        let worst = expected.first().and_then(|expected| trial_tail(&block, expected));
        let far = worst.filter(|(_, tail)| *tail < FAR).map(|(surprise, _)| {
            let state = match surprise.kind {
                SurpriseKind::Swell(at) | SurpriseKind::Change(_, at) => block.seen[at].state,
            };
            finding(book, name, state, surprise.with_guards(all.trials[at].guards_mm))
        });
        Ok(far)
    }
}

fn finding(book: &Book, trial: &Name, state: State, surprise: Surprise) -> Finding {
    let Surprise { observed_mm, expected_mm, sd_mm, kind, .. } = surprise;
    let change = matches!(kind, SurpriseKind::Change(..));
    let doubt = SetDoubt::FarFromFit { change, observed_mm, expected_mm, sd_mm };
    let first = book.readings().iter().find(|one| one.trial == *trial && one.state == state);
    let key = first.map(|reading| (trial, state, &reading.place));
    let place = book.places_of(key).into_values().next();
    Finding::Set { place: place.unwrap_or_default(), trial: trial.clone(), state, doubt }
}
