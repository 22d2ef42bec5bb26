//! How well a book's fit predicts what it has not seen, beside simpler ways.

use super::answer_doubtful::{Doubtful, doubtful};
use super::answer_refit::{Fold, Foretold, Judgement, Leaving, Whole, folds, refit};
use crate::book::Book;
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::model::compare::{Difference, Judged, OfWays, Score, Way, difference, score};
use crate::model::mixed::Ranges;
use crate::observe::Observations;
use crate::trade::State;
use crate::units::{fields, watched};
use serde::{Serialize, Serializer};
use std::collections::BTreeSet;
use thiserror::Error;

/// Trials under which nothing can be compared: a trial and two others.
pub const LEAST_TRIALS: usize = 3;
/// Papers under which none can be predicted from others.
const LEAST_PAPERS: usize = 2;

/// Why a book's predictions could not be compared.
#[derive(Debug, Error)]
pub enum CompareError {
    /// Too few trials.
    #[error(
        "comparing takes at least {LEAST_TRIALS} trials with spine and fore-edge measured in one state with thread in the folds, and the book has {trials}; sew and record more"
    )]
    FewTrials {
        /// Trials that could be predicted.
        trials: usize,
    },
    /// A single paper.
    #[error(
        "comparing by paper takes trials of at least {LEAST_PAPERS} papers, and the book has those \
         of one; sew and record trials of another, or leave --by out"
    )]
    FewPapers,
    /// A fit without some trials has no answer.
    #[error(transparent)]
    Bench(#[from] BenchError),
}

/// How a way did on some observations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayScore {
    pub way: Way,
    /// How it did.
    pub score: Score,
    /// Its log density less that of the book's own fit on the same observations.
    pub against_own: Difference,
    /// The same of its absolute miss, in mm.
    pub miss_against_own: Difference,
}

/// How a way did on everything that it could predict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ComparedWay {
    pub way: Way,
    /// How it did; `None` where it could predict nothing.
    pub score: Option<WayScore>,
    /// Observations that it could not predict, for want of trials.
    pub unavailable: usize,
}

impl Serialize for ComparedWay {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { way, score: scored, unavailable } = self;
        let score = scored.map(|scored| scored.score);
        let beside = scored.filter(|_| *way != Way::Own);
        fields!(serializer,
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
        )
    }
}

/// What the ways did on the same observations, each of them available there.
fn in_common<S: Serializer>(common: &[WayScore], serializer: S) -> Result<S::Ok, S::Error> {
    let first = common.first().map(|way| way.score);
    let way = |one: &WayScore| ComparedWay { way: one.way, score: Some(*one), unavailable: 0 };
    fields!(serializer,
        "predictions": first.map_or(0, |score| score.predictions),
        "trials": first.map_or(0, |score| score.trials),
        "ways": common.iter().map(way).collect::<Vec<_>>(),
    )
}

/// A swell as measured, beside what was predicted of it without its trial. In mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Agreement {
    pub trial: String,
    pub state: State,
    /// The swell measured.
    pub measured_mm: f64,
    /// By the fit of the other trials, the noise of the readings included.
    pub own: Ranges,
    /// The middle of what nominal figures say.
    pub nominal_mm: f64,
}

/// Ways to predict, compared.
#[derive(Clone, Debug, Serialize)]
pub struct Compared {
    /// What was left out in turn.
    #[serde(rename = "by")]
    pub leaving: Leaving,
    /// Trials left out.
    pub trials: usize,
    /// Papers they are of.
    pub papers: usize,
    /// Observations predicted.
    pub observations: usize,
    /// Fits of the others: one for each trial or paper, or one for each of twenty parts of a long
    /// book.
    pub refits: usize,
    /// How many of them were made by themselves; the rest are the book's own fit with its draws
    /// weighted for the others.
    pub exact_refits: usize,
    /// Each way on everything that it could predict.
    pub ways: Vec<ComparedWay>,
    /// The ways that could predict anything, on the observations that all of them could predict;
    /// empty where there is no such observation.
    #[serde(serialize_with = "in_common")]
    pub common: Vec<WayScore>,
    /// Every observation beside its prediction, in order of trial and state.
    #[serde(skip)]
    pub agreement: Vec<Agreement>,
    /// Trials that the others make hard to believe, worst first; looked for where one trial is left
    /// out at a time.
    pub doubtful: Vec<Doubtful>,
}

/// Leaves every trial (or paper) out in turn and predicts it from the others. `watch` gets how many
/// fits of how many are done.
///
/// # Errors
/// [`CompareError`].
pub fn compare(
    book: &Book,
    bench: &Bench,
    leaving: Leaving,
    watch: &mut dyn FnMut(usize, usize),
) -> Result<Compared, CompareError> {
    let all = &bench.observations;
    let parts = folds(all, leaving);
    let trials: usize = parts.iter().map(|fold| fold.trials.len()).sum();
    if trials < LEAST_TRIALS {
        return Err(CompareError::FewTrials { trials });
    }
    if leaving == Leaving::Paper && parts.len() < LEAST_PAPERS {
        return Err(CompareError::FewPapers);
    }
    let LeftOut { judgements: judged, exact_refits } =
        judgements(book, bench, (leaving, &parts), watch)?;
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
        agreement: agreement(bench, &judged),
        doubtful: (leaving == Leaving::Trial).then(doubts).unwrap_or_default(),
    })
}

fn agreement(bench: &Bench, judged: &[Judgement]) -> Vec<Agreement> {
    let mut trials: Vec<&Judgement> = judged.iter().collect();
    trials.sort_by_key(|judgement| judgement.block.trial);
    let rows = trials.into_iter().flat_map(|judgement| {
        let trial = bench.observations.trials[judgement.block.trial].name.to_string();
        judgement.block.seen.iter().zip(&judgement.foretold).map(move |(seen, foretold)| {
            let &Foretold { measured_mm, own, nominal_mm } = foretold;
            Agreement { trial: trial.clone(), state: seen.state, measured_mm, own, nominal_mm }
        })
    });
    rows.collect()
}

/// Every fold's judgements, in order of the folds.
pub(crate) struct LeftOut {
    pub judgements: Vec<Judgement>,
    /// Folds whose others were fitted by themselves.
    pub exact_refits: usize,
}

/// Leaves out one fold after another. Several folds are fitted at once: a fit shares
/// its draws out over the cores but searches for its mode on one or two, and beside another fit
/// that time is not lost.
pub(crate) fn judgements(
    book: &Book,
    bench: &Bench,
    (leaving, parts): (Leaving, &[Fold]),
    watch: &mut dyn FnMut(usize, usize),
) -> Result<LeftOut, BenchError> {
    let beliefs = beliefs(book.config())?;
    // A paper taken out moves the spreads too far for the draws of the whole to stand for it.
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
