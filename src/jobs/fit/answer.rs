//! What a book's trials taught: factors by paper, spreads, and simpler estimates beside them.

use super::answer_bends::{Looked, bends};
use super::answer_check::Check;
use crate::book::Book;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::compare::answer::Compared;
use crate::jobs::export::answer_columns::column_words;
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::jobs::forecast::answer::whole;
use crate::jobs::history::answer::{History, history};
use crate::jobs::history::answer_hands::{HandSewings, by_hand};
use crate::jobs::track::answer::{TrackRecord, track_record};
use crate::model::mixed::{FitRecord, Summary};
use crate::model::{
    Coefficient, Effects, Gaussian, Line, Ordinary, OrdinaryError, SwellFit, SwellSpread, lines,
    pooled_fore_edge,
};
use crate::observe::{DownWeighted, Observations, PaperLevel, Repeatability, ThreadLevel};
use crate::trade::{Hardness, State};
use crate::units::{both, fields_of};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// The states in which a factor is quoted.
pub(super) const QUOTED: [State; 2] = [State::Sewn, State::Knocked];

/// A paper's factor in one state, beside its nominal figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownFactor {
    pub state: State,
    /// From the book.
    pub factor: Summary,
    /// From the beliefs alone.
    pub nominal: Summary,
    /// The factor under beliefs and spreads twice as wide; `None` if that fit failed.
    pub wider: Option<Summary>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct LearntPaper {
    pub paper: String,
    /// Its book, if it is not this one.
    pub bench: Option<String>,
    /// Its name in the columns of `export --draws`; `None` for a paper of another book.
    pub column: Option<String>,
    pub hardness: Hardness,
    pub trials: usize,
    pub factors: Vec<KnownFactor>,
    /// What knocking down takes out of the factor.
    pub knocked_out: Summary,
    /// Fore-edge thickness over leaves × caliper.
    pub fore_edge_ratio: Gaussian,
    /// Number of trials behind it. A trial may have readings at the fore-edge alone.
    pub fore_edges: usize,
}

/// The factors are beside the other data of the paper, each under the name of its state.
impl Serialize for LearntPaper {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let each = || self.factors.iter();
        let nominal: BTreeMap<_, _> = each().map(|known| (known.state, known.nominal)).collect();
        let wider: BTreeMap<_, _> = each().map(|known| (known.state, known.wider)).collect();
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("paper", &self.paper)?;
        map.serialize_entry("bench", &self.bench)?;
        map.serialize_entry("column", &self.column)?;
        map.serialize_entry("hardness", &self.hardness)?;
        map.serialize_entry("trials", &self.trials)?;
        each().try_for_each(|known| map.serialize_entry(&known.state, &known.factor))?;
        map.serialize_entry("knocked_out", &self.knocked_out)?;
        map.serialize_entry("nominal", &nominal)?;
        map.serialize_entry("if_twice_as_wide", &wider)?;
        map.serialize_entry("fore_edge_ratio", &self.fore_edge_ratio)?;
        map.end()
    }
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LearntThread {
    pub thread: String,
    pub bench: Option<String>,
    pub column: Option<String>,
    pub laid_mm: f64,
    pub trials: usize,
    /// What it adds to the factor.
    pub effect: Summary,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LearntSpread {
    #[serde(skip)]
    pub spread: SwellSpread,
    #[serde(flatten)]
    pub summary: Summary,
    pub mode: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub struct LearntLine {
    /// The paper; `None` for all together.
    pub paper: Option<String>,
    pub bench: Option<String>,
    pub state: State,
    pub line: Result<Ordinary, OrdinaryError>,
}

// A line that could not be drawn has no figures and says why not.
fields_of! { LearntLine, |it|
    let fit = it.line.as_ref();
    "paper": it.paper,
    "bench": it.bench,
    "state": it.state,
    "intercept_mm": fit.ok().and_then(|fit| fit.intercept),
    "slope": fit.ok().and_then(|fit| fit.slopes.first()),
    "residual_sd_mm": fit.ok().map(|fit| fit.residual_sd),
    "why_not": fit.err().map(ToString::to_string),
}

#[derive(Clone, Debug, Serialize)]
pub struct Learnt {
    pub observations: usize,
    pub trials: usize,
    #[serde(flatten)]
    pub repeatability: Repeatability,
    /// Readings out of line with their set, which have less weight.
    pub down_weighted: Vec<DownWeighted>,
    #[serde(rename = "rests_on")]
    pub grounds: Grounds,
    #[serde(serialize_with = "whole")]
    pub effective_draws: f64,
    #[serde(serialize_with = "by_name")]
    pub coefficients: Vec<(Coefficient, Summary)>,
    #[serde(serialize_with = "by_spread")]
    pub spreads: Vec<LearntSpread>,
    pub papers: Vec<LearntPaper>,
    pub threads: Vec<LearntThread>,
    pub lines: Vec<LearntLine>,
    /// Fore-edge against leaves × caliper, one line for all.
    #[serde(skip)]
    pub pooled_fore_edge: Result<Ordinary, OrdinaryError>,
    pub record: FitRecord,
    #[serde(rename = "track_record")]
    pub track: TrackRecord,
    pub history: History,
    pub hands: Vec<HandSewings>,
    /// What the fit leaves unexplained, tested against every covariate that varies.
    pub left_over: Vec<Looked>,
}

/// All that `fit --json` prints: what was learnt, and what else was asked for.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct LearntWith<'a> {
    #[serde(flatten)]
    pub learnt: &'a Learnt,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub compare: Option<&'a Compared>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check: Option<&'a Check>,
}

type Coefficients = [(Coefficient, Summary)];

fn by_name<S: Serializer>(list: &Coefficients, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(list.iter().map(|(name, summary)| (name.name(), summary)))
}

fn by_spread<S: Serializer>(list: &[LearntSpread], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(list.iter().map(|spread| (spread.spread.name(), spread)))
}

/// Collects what `fit` reports about a book; the book itself holds the forecasts that were kept.
pub fn learn(book: &Book, bench: &Bench) -> Result<Learnt, BenchError> {
    learn_of(book, bench, &bench.observations, &|fit| fit.effects(&QUOTED))
}

/// Like [`learn`], for a bench that may hold other books after this one. `own` are the book's own
/// observations, which come first among those of the bench; `asked` gives the effects of a fit.
pub(super) fn learn_of(
    book: &Book,
    bench: &Bench,
    own: &Observations,
    asked: &dyn Fn(&SwellFit) -> Effects,
) -> Result<Learnt, BenchError> {
    let Bench { observations: all, fit, .. } = bench;
    let beliefs = beliefs(book.config())?;
    let aside = || (fit.spreads(), bends(bench, &beliefs));
    let here = || (asked(fit), fit.sewing_effects(), bench.wider().map(asked));
    let ((spreads, left_over), (effects, mut sewings, wider)) = both(aside, here);
    sewings.retain(|one| one.trial < own.trials.len());
    let spread = |(spread, summary, mode)| LearntSpread { spread, summary, mode };
    Ok(Learnt {
        observations: all.rows.len(),
        trials: fit.trials_used(),
        repeatability: all.repeatability,
        down_weighted: own.down_weighted.clone(),
        grounds: bench.grounds.clone(),
        effective_draws: fit.record().effective_draws,
        coefficients: effects.coefficients.clone(),
        spreads: spreads.into_iter().map(spread).collect(),
        papers: papers(bench, &effects, wider.as_ref()),
        threads: threads(all, &effects),
        lines: lines(all, &QUOTED).into_iter().map(|line| named(all, line)).collect(),
        pooled_fore_edge: pooled_fore_edge(all),
        record: fit.record().clone(),
        track: track_record(book.forecasts(), own, book.readings()),
        history: history(own, &sewings),
        hands: by_hand(own, &sewings),
        left_over: left_over?,
    })
}

/// Number of sewn trials for which `belongs` holds.
pub(super) fn count(all: &Observations, belongs: impl Fn(&crate::observe::Sewn) -> bool) -> usize {
    all.sewn_trials().into_iter().filter(|&trial| belongs(&all.trials[trial])).count()
}

fn papers(bench: &Bench, effects: &Effects, wider: Option<&Effects>) -> Vec<LearntPaper> {
    let Bench { observations: all, fit, nominal, .. } = bench;
    let asked: Vec<_> = [Hardness::Hard, Hardness::Medium, Hardness::Soft]
        .into_iter()
        .flat_map(|hardness| QUOTED.map(|state| (hardness, state)))
        .collect();
    let untried = nominal.untried_factors(&asked);
    let nominal_of = |hardness, state| {
        asked.iter().position(|&each| each == (hardness, state)).map(|index| untried[index])
    };
    let columns = column_words(all.papers.iter().map(|paper| paper.name.as_str()));
    let paper = |((level, paper), column): ((usize, &PaperLevel), String)| LearntPaper {
        paper: paper.name.to_string(),
        bench: None,
        column: Some(column),
        hardness: paper.hardness,
        trials: count(all, |trial| trial.paper == level),
        factors: (QUOTED.into_iter().zip(&effects.factors[level]).enumerate())
            .filter_map(|(place, (state, &factor))| {
                let nominal = nominal_of(paper.hardness, state)?;
                let wider = wider.map(|effects| effects.factors[level][place]);
                Some(KnownFactor { state, factor, nominal, wider })
            })
            .collect(),
        knocked_out: effects.knocked_out[level],
        fore_edge_ratio: fit.fore_edge_ratios().of(Some(level)),
        fore_edges: all.ratios.iter().filter(|ratio| ratio.paper == level).count(),
    };
    all.papers.iter().enumerate().zip(columns).map(paper).collect()
}

fn threads(all: &Observations, effects: &Effects) -> Vec<LearntThread> {
    let columns = column_words(all.threads.iter().map(|thread| thread.name.as_str()));
    let thread = |((level, thread), column): ((usize, &ThreadLevel), String)| LearntThread {
        thread: thread.name.to_string(),
        bench: None,
        column: Some(column),
        laid_mm: thread.diameter_mm,
        trials: count(all, |trial| trial.thread == level),
        effect: effects.threads[level],
    };
    all.threads.iter().enumerate().zip(columns).map(thread).collect()
}

fn named(all: &Observations, line: Line) -> LearntLine {
    let paper = line.paper.map(|level| all.papers[level].name.to_string());
    LearntLine { paper, bench: None, state: line.state, line: line.line }
}
