//! Several books fitted together: what their benches share, how they differ, and what the other
//! books add to this one.

use super::answer::{Learnt, QUOTED, count, learn_of};
use super::answer_books::{Benches, Member, Other, TogetherError};
use crate::book::Book;
use crate::jobs::fitted::{Bench, BenchError};
use crate::model::mixed::Summary;
use crate::model::{Effects, SwellFit, SwellSpread, lines};
use crate::observe::{DownWeighted, Observations, Part, Repeatability};
use crate::trade::State;
use serde::Serialize;
use std::collections::BTreeSet;
use std::f64::consts::SQRT_2;

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LearntHand {
    /// Its name, empty if its trials name no hand; `None` for a bench with a single hand.
    pub hand: Option<String>,
    /// Number of measured trials.
    pub trials: usize,
    /// What it adds to the factor, against an average bench.
    pub effect: Summary,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LearntBench {
    /// Its label: its title, or its folder if titles are alike.
    pub bench: String,
    pub folder: String,
    /// Number of measured trials.
    pub trials: usize,
    pub observations: usize,
    #[serde(flatten)]
    pub repeatability: Repeatability,
    pub resolution_mm: f64,
    pub down_weighted: Vec<DownWeighted>,
    /// Whether its `book.toml` has other beliefs than the first book, whose beliefs were used.
    pub other_beliefs: bool,
    pub hands: Vec<LearntHand>,
}

/// What the other books add to a factor of this one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gained {
    pub paper: String,
    pub state: State,
    pub alone: Summary,
    pub together: Summary,
    /// The share by which the 90 % range is narrower; negative if it is wider.
    pub narrower: f64,
}

#[derive(Clone, Debug, Serialize)]
pub struct Together {
    /// As for one book, with the papers and threads of all.
    #[serde(flatten)]
    pub learnt: Learnt,
    /// The books, this one first.
    pub benches: Vec<LearntBench>,
    /// By how much the factors of two benches differ: √2 times the spread of hands.
    pub bench_difference: Summary,
    /// Whether the most probable spread of benches is above zero.
    pub benches_differ: bool,
    /// Every tried paper of this book, alone and together.
    pub gained: Vec<Gained>,
}

/// Fits a book, whose bench is `own`, together with others, and reports the results. The factor of
/// a paper is for the bench that sewed it, on average over its hands. Source: docs/model.md,
/// "Several books together".
pub fn learn_together(
    book: &Book,
    own: &Bench,
    others: &[Other],
) -> Result<Together, TogetherError> {
    let Benches { members, parts, bench } = Benches::of(book, own, others)?;
    let all = &bench.observations;
    let sewing: Vec<Vec<usize>> =
        parts.iter().map(|part| measured_hands(all, part.hands.clone())).collect();
    let hands: Vec<Vec<usize>> = (parts.iter().zip(&sewing))
        .flat_map(|(part, sewing)| part.papers.clone().map(|_| sewing.clone()))
        .collect();
    let asked = |fit: &SwellFit| fit.effects_in_hands(&QUOTED, &hands);
    let mut learnt = learn_of(book, &bench, &own.observations, &asked).map_err(plain)?;
    tell_apart(&mut learnt, &parts, all);
    let own_hands = measured_hands(&own.observations, 0..own.observations.hands.len());
    let own_hands = vec![own_hands; own.observations.papers.len()];
    let gained = gained(&learnt, &own.fit.effects_in_hands(&QUOTED, &own_hands));
    let spread = learnt.spreads.iter().find(|one| one.spread == SwellSpread::Hand);
    let spread = *spread.unwrap_or_else(|| unreachable!("each of several books has a hand"));
    let effects = bench.fit.hand_effects(all);
    let benches = members.into_iter().zip(&parts);
    Ok(Together {
        benches: benches.map(|(member, part)| learnt_bench(member, part, all, &effects)).collect(),
        bench_difference: scaled(spread.summary, SQRT_2),
        benches_differ: spread.mode > 0.0,
        gained,
        learnt,
    })
}

fn plain(error: BenchError) -> TogetherError {
    match error {
        BenchError::Model(why) => why.into(),
        BenchError::Observe(why) => unreachable!("every book was observed before: {why}"),
    }
}

/// Those of these hands that have a measured trial; all of them if none has one.
fn measured_hands(all: &Observations, hands: std::ops::Range<usize>) -> Vec<usize> {
    let measured: BTreeSet<usize> = all.rows.iter().map(|row| all.trials[row.trial].hand).collect();
    let sewed: Vec<usize> = hands.clone().filter(|hand| measured.contains(hand)).collect();
    if sewed.is_empty() { hands.collect() } else { sewed }
}

/// Labels the papers, threads and lines of other books with their book.
fn tell_apart(learnt: &mut Learnt, parts: &[Part], all: &Observations) {
    let others = || parts.iter().skip(1);
    let of_paper = |paper: usize| others().find(|part| part.papers.contains(&paper));
    let of_thread = |thread: usize| others().find(|part| part.threads.contains(&thread));
    let label = |part: &Part| part.label.clone();
    for (level, paper) in learnt.papers.iter_mut().enumerate() {
        paper.bench = of_paper(level).map(label);
        // `export --draws` has the draws of this book alone.
        paper.column = paper.column.take().filter(|_| paper.bench.is_none());
    }
    for (level, thread) in learnt.threads.iter_mut().enumerate() {
        thread.bench = of_thread(level).map(label);
        thread.column = thread.column.take().filter(|_| thread.bench.is_none());
    }
    for (line, of) in learnt.lines.iter_mut().zip(lines(all, &QUOTED)) {
        line.bench = of.paper.and_then(of_paper).map(label);
    }
}

fn gained(learnt: &Learnt, alone: &Effects) -> Vec<Gained> {
    let own = learnt.papers.iter().filter(|paper| paper.bench.is_none());
    let tried = own.zip(&alone.factors).filter(|(paper, _)| paper.trials > 0);
    let factors = tried.flat_map(|(paper, alone)| {
        paper.factors.iter().zip(alone).map(|(known, &alone)| Gained {
            paper: paper.paper.clone(),
            state: known.state,
            alone,
            together: known.factor,
            narrower: 1.0 - width(&known.factor) / width(&alone),
        })
    });
    factors.collect()
}

fn width(summary: &Summary) -> f64 {
    summary.q95 - summary.q05
}

fn scaled(summary: Summary, by: f64) -> Summary {
    let Summary { mean, sd, q05, q50, q95 } = summary;
    Summary { mean: by * mean, sd: by * sd, q05: by * q05, q50: by * q50, q95: by * q95 }
}

fn learnt_bench(
    member: Member,
    part: &Part,
    all: &Observations,
    effects: &[Summary],
) -> LearntBench {
    let Member { folder, observations: own, other_beliefs } = member;
    let hand = |hand: usize| LearntHand {
        hand: (own.hands.len() > 1).then(|| own.hands[hand - part.hands.start].clone()),
        trials: count(all, |trial| trial.hand == hand),
        effect: effects[hand],
    };
    LearntBench {
        bench: part.label.clone(),
        folder,
        trials: own.sewn_trials().len(),
        observations: own.rows.len(),
        repeatability: own.repeatability,
        resolution_mm: own.resolution_mm,
        hands: part.hands.clone().map(hand).collect(),
        down_weighted: own.down_weighted,
        other_beliefs,
    }
}
