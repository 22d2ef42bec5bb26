//! How well a book's fit predicts trials that it has not seen, beside simpler ways.

use super::answer_doubtful::{Doubtful, doubtful};
use super::answer_refit::{Agreement, Fold, Judgement, Leaving, Whole, folds, refit};
use crate::book::Book;
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::model::compare::{Difference, Judged, OfWays, Score, Way, difference, score};
use crate::observe::Observations;
use crate::units::{fields, fields_of, watched};
use serde::{Serialize, Serializer};
use std::collections::BTreeSet;
use thiserror::Error;

/// The fewest trials for a comparison: one to predict and two others.
pub const LEAST_TRIALS: usize = 3;
const LEAST_PAPERS: usize = 2;

#[derive(Debug, Error)]
pub enum CompareError {
    #[error(
        "predicting each trial from the others needs at least {LEAST_TRIALS} trials with spine and fore-edge measured in one state with thread in the folds, and the book has {trials}; sew and record more"
    )]
    FewTrials { trials: usize },
    #[error(
        "comparing by paper needs trials of at least {LEAST_PAPERS} papers, and the book has trials \
         of only one; sew and record trials of another, or leave out --by"
    )]
    FewPapers,
    #[error(transparent)]
    Bench(#[from] BenchError),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayScore {
    pub way: Way,
    pub score: Score,
    /// Its log density minus that of the book's own fit, on the same observations.
    pub against_own: Difference,
    /// The same difference for its absolute miss, in mm.
    pub miss_against_own: Difference,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ComparedWay {
    pub way: Way,
    /// `None` if it could predict nothing.
    pub score: Option<WayScore>,
    /// Number of observations that it could not predict, for lack of trials.
    pub unavailable: usize,
}

fields_of! { ComparedWay, |it|
    let Self { way, score: scored, unavailable } = it;
    let score = scored.map(|scored| scored.score);
    let beside = scored.filter(|_| *way != Way::Own);
    "way": way,
    "predictions": score.map_or(0, |score| score.predictions),
    "trials": score.map_or(0, |score| score.trials),
    "unavailable": unavailable,
    "mean_miss_mm": score.map(|score| score.mean_miss_mm),
    "mean_miss_percent": score.map(|score| score.mean_miss_percent),
    "held_90": score.map(|score| score.held.count),
    "held_90_share": score.map(|score| score.held.share),
    "held_90_low": score.map(|score| score.held.low),
    "held_90_high": score.map(|score| score.held.high),
    "log_density": score.map(|score| score.log_density),
    "log_density_less_own": beside.map(|scored| scored.against_own),
    "miss_less_own_mm": beside.map(|scored| scored.miss_against_own),
}

/// The scores of the ways on the observations that all of them could predict.
fn in_common<S: Serializer>(common: &[WayScore], serializer: S) -> Result<S::Ok, S::Error> {
    let first = common.first().map(|way| way.score);
    let way = |one: &WayScore| ComparedWay { way: one.way, score: Some(*one), unavailable: 0 };
    fields!(serializer,
        "predictions": first.map_or(0, |score| score.predictions),
        "trials": first.map_or(0, |score| score.trials),
        "ways": common.iter().map(way).collect::<Vec<_>>(),
    )
}

#[derive(Clone, Debug, Serialize)]
pub struct Compared {
    #[serde(rename = "by")]
    pub leaving: Leaving,
    pub trials: usize,
    pub papers: usize,
    pub observations: usize,
    /// Number of fits of the other trials: one for each trial or paper, or one for each of the
    /// twenty parts of a long book.
    pub refits: usize,
    /// How many of these were fitted from scratch; the rest reuse the draws of the book's own fit,
    /// reweighted for the other trials.
    pub exact_refits: usize,
    /// Each way on everything that it could predict.
    pub ways: Vec<ComparedWay>,
    /// The ways that could predict anything, on the observations that all of them could predict;
    /// empty if there are no such observations.
    #[serde(serialize_with = "in_common")]
    pub common: Vec<WayScore>,
    /// Every observation beside its prediction, in order of trial and state.
    #[serde(skip)]
    pub agreement: Vec<Agreement>,
    /// Trials that are implausible beside the others, worst first; only looked for if one trial is
    /// left out at a time.
    pub doubtful: Vec<Doubtful>,
}

/// Leaves every trial (or paper) out in turn and predicts it from the others. `watch` gets the
/// number of fits done and their total.
pub fn compare(
    book: &Book,
    bench: &Bench,
    leaving: Leaving,
    watch: &mut dyn FnMut(usize, usize),
) -> Result<Compared, CompareError> {
    let all = &bench.observations;
    let parts = folds(all, leaving);
    let trials: usize = parts.iter().map(Vec::len).sum();
    if trials < LEAST_TRIALS {
        return Err(CompareError::FewTrials { trials });
    }
    if leaving == Leaving::Paper && parts.len() < LEAST_PAPERS {
        return Err(CompareError::FewPapers);
    }
    let LeftOut { judgements: judged, exact_refits } =
        judgements(book, bench, leaving, &parts, watch)?;
    let rows: Vec<Row> = judged.iter().flat_map(|one| Row::of(one, all, leaving)).collect();
    let papers: BTreeSet<usize> =
        judged.iter().map(|one| all.trials[one.block.trial].paper).collect();
    let doubts = || doubtful(book, bench, &judged);
    Ok(Compared {
        leaving,
        trials,
        papers: papers.len(),
        observations: rows.len(),
        refits: parts.len(),
        exact_refits,
        ways: Way::ALL.into_iter().map(|way| compared(way, &rows)).collect(),
        common: common(&rows),
        agreement: agreement(&judged),
        doubtful: (leaving == Leaving::Trial).then(doubts).unwrap_or_default(),
    })
}

fn agreement(judged: &[Judgement]) -> Vec<Agreement> {
    let mut trials: Vec<&Judgement> = judged.iter().collect();
    trials.sort_by_key(|judgement| judgement.block.trial);
    trials.into_iter().flat_map(|judgement| judgement.agreement.iter().cloned()).collect()
}

/// Every fold's judgements, in order of the folds.
pub(crate) struct LeftOut {
    pub judgements: Vec<Judgement>,
    /// Number of folds whose other trials were fitted from scratch.
    pub exact_refits: usize,
}

/// Leaves out each fold in turn, several at once: a fit uses all cores for its draws, but only one
/// or two to find its mode. Other fits use the rest meanwhile.
pub(crate) fn judgements(
    book: &Book,
    bench: &Bench,
    leaving: Leaving,
    parts: &[Fold],
    watch: &mut dyn FnMut(usize, usize),
) -> Result<LeftOut, BenchError> {
    let beliefs = beliefs(book.config())?;
    // Leaving out a paper moves the spreads too far to reuse the draws of the whole book.
    let without = (leaving == Leaving::Trial).then(|| bench.fit.without_some(&beliefs));
    let whole = Whole { book, bench, beliefs: &beliefs, without: without.as_ref() };
    let found = watched(parts, |fold| refit(whole, fold), |done| watch(done, parts.len()));
    let each = found.into_iter().collect::<Result<Vec<_>, _>>()?;
    Ok(LeftOut {
        exact_refits: each.iter().filter(|one| one.exact).count(),
        judgements: each.into_iter().flat_map(|one| one.judgements).collect(),
    })
}

/// One observation as every way predicted it.
struct Row {
    trial: usize,
    cluster: usize,
    ways: OfWays<Judged>,
}

impl Row {
    fn of(judgement: &Judgement, all: &Observations, leaving: Leaving) -> Vec<Self> {
        let trial = judgement.block.trial;
        let cluster = leaving.cluster(all, trial);
        judgement.ways.iter().map(|&ways| Self { trial, cluster, ways }).collect()
    }
}

fn way_score(way: Way, rows: &[&Row]) -> Option<WayScore> {
    let judged = |row: &&Row| Some((row.trial, row.ways[way as usize]?));
    let against = |of: fn(&Judged) -> f64| {
        let less = |row: &&Row| {
            let (one, own) = (row.ways[way as usize]?, row.ways[Way::Own as usize]?);
            Some((row.cluster, of(&one) - of(&own)))
        };
        difference(&rows.iter().filter_map(less).collect::<Vec<_>>())
    };
    Some(WayScore {
        way,
        score: score(&rows.iter().filter_map(judged).collect::<Vec<_>>())?,
        against_own: against(|one| one.log_density)?,
        miss_against_own: against(|one| one.miss_mm.abs())?,
    })
}

fn compared(way: Way, rows: &[Row]) -> ComparedWay {
    let score = way_score(way, &rows.iter().collect::<Vec<_>>());
    let unavailable = rows.iter().filter(|row| row.ways[way as usize].is_none()).count();
    ComparedWay { way, score, unavailable }
}

fn common(rows: &[Row]) -> Vec<WayScore> {
    let able: Vec<Way> = Way::ALL
        .into_iter()
        .filter(|&way| rows.iter().any(|row| row.ways[way as usize].is_some()))
        .collect();
    let all = |row: &&Row| able.iter().all(|&way| row.ways[way as usize].is_some());
    let shared: Vec<&Row> = rows.iter().filter(all).collect();
    able.iter().filter_map(|&way| way_score(way, &shared)).collect()
}
