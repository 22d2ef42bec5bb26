//! Every sewing in order of date, hand by hand, with struck sewings beside those that count.

use crate::book::{Book, Entries, entry_named};
use crate::jobs::compare::answer_refit::block;
use crate::jobs::fitted::{Bench, BenchError};
use crate::jobs::history::answer::History;
use crate::jobs::history::answer_hands;
use crate::model::compare::{Block, Expected, Seen};
use crate::observe::observe_entries;
use crate::trade::Name;
use jiff::civil::Date;
use std::collections::BTreeSet;

/// A struck sewing, which counts nowhere.
#[derive(Clone, Debug, PartialEq)]
pub struct StruckPoint {
    pub trial: Name,
    pub date: Date,
    /// Its swell less the swell that the counted sewings predict, in standard deviations of that
    /// prediction. They include the noise of the readings and the uncertainty about paper and
    /// thread.
    pub standardised: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub struct HandHistory {
    /// Empty if the trials name no hand.
    pub hand: String,
    /// The sewings that count, judged by themselves: another hand's sewings say neither what is
    /// usual for this hand nor how it changed.
    pub history: History,
    /// Struck sewings with a date, in the order of the book.
    pub struck: Vec<StruckPoint>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct HistoryView {
    /// The hands with at least one dated sewing, sorted by name.
    pub hands: Vec<HandHistory>,
    /// Number of measured sewings without a date, of all hands.
    pub undated: usize,
}

impl HandHistory {
    /// The dates of all its sewings, struck ones last.
    pub fn dates(&self) -> impl Iterator<Item = Date> + Clone {
        let struck = self.struck.iter().map(|point| point.date);
        self.history.points.iter().map(|point| point.date).chain(struck)
    }
}

/// Sorts the sewings of a book by hand and date, and adds the struck ones that can still be
/// compared with the others.
pub fn history_view(book: &Book, bench: &Bench) -> Result<HistoryView, BenchError> {
    let all = &bench.observations;
    let effects = bench.fit.sewing_effects();
    let mut struck = struck(book, bench)?;
    let named = all.hands.iter().chain(struck.iter().map(|(hand, _)| hand));
    let names: BTreeSet<String> = named.cloned().collect();
    let hand = |hand: String| {
        let history = answer_hands::of(all, &effects, &hand);
        let gone = struck.extract_if(.., |(of, _)| *of == hand).map(|(_, point)| point).collect();
        HandHistory { history, struck: gone, hand }
    };
    let mut hands: Vec<HandHistory> = names.into_iter().map(hand).collect();
    let undated = hands.iter().map(|hand| hand.history.undated).sum();
    hands.retain(|hand| hand.dates().next().is_some());
    Ok(HistoryView { hands, undated })
}

/// The struck sewings, each with its hand. Each is judged by its first state with thread, because
/// later states also depend on the hammer.
fn struck(book: &Book, bench: &Bench) -> Result<Vec<(String, StruckPoint)>, BenchError> {
    let entries = struck_entries(book);
    let (resolution, others) = (book.config().resolution, &bench.observations);
    let alone = observe_entries(&entries, resolution, others.weighing)?;
    let sewn = alone.sewn_trials().into_iter().filter(|at| alone.trials[*at].date.is_some());
    let blocks: Vec<Block> =
        sewn.map(|at| block(&alone, others, at, entries.trials[at].sewing)).collect();
    let expected = bench.fit.expect(&blocks)?;
    let point = |(block, expected): (&Block, &Expected)| {
        let trial = &alone.trials[block.trial];
        let (seen, swell) = block.seen.first().zip(expected.swells.first())?;
        let Seen { swell_mm, variance, .. } = *seen;
        let standardised = (swell_mm - swell.mean()) / swell.with_noise(variance).sd();
        let point = StruckPoint { trial: trial.name.clone(), date: trial.date?, standardised };
        Some((alone.hands[trial.hand].clone(), point))
    };
    Ok(blocks.iter().zip(&expected).filter_map(point).collect())
}

/// The struck trials whose paper and thread are live, with the readings that went with them, and all
/// live papers and threads.
fn struck_entries(book: &Book) -> Entries {
    let Entries { mut trials, mut readings, .. } = book.struck_trials();
    trials.retain(|trial| {
        let paper = entry_named(book.papers(), trial.paper.as_str());
        paper.is_some() && entry_named(book.threads(), trial.thread.as_str()).is_some()
    });
    let names: BTreeSet<&Name> = trials.iter().map(|trial| &trial.name).collect();
    readings.retain(|reading| names.contains(&reading.trial));
    Entries {
        papers: book.papers().to_vec(),
        threads: book.threads().to_vec(),
        trials,
        readings,
        ..Entries::default()
    }
}
