//! Every sewing in order of date, the struck ones beside those that count.

use crate::book::Book;
use crate::jobs::compare::answer_refit::block;
use crate::jobs::fitted::{Bench, BenchError};
use crate::jobs::history::answer::{History, history};
use crate::model::compare::{Block, Expected, Seen};
use crate::observe::{Observations, observe_entries};
use crate::trade::Name;
use jiff::civil::Date;

/// A struck sewing, which counts nowhere.
#[derive(Clone, Debug, PartialEq)]
pub struct StruckPoint {
    pub trial: Name,
    /// The day it was sewn.
    pub date: Date,
    /// How far its swell is from what the sewings that count lead one to expect, in standard
    /// deviations of that: the readings' noise and the doubt about paper and thread included.
    pub standardised: f64,
}

/// The sewings of a book in order of date.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryView {
    /// Those that count.
    pub history: History,
    /// The struck ones with a date, in the order of the book.
    pub struck: Vec<StruckPoint>,
}

/// Puts the sewings of a book in order of date, with the struck ones that can still be measured
/// against the others.
///
/// # Errors
/// [`BenchError`].
pub fn history_view(book: &Book, bench: &Bench) -> Result<HistoryView, BenchError> {
    let history = history(&bench.observations, &bench.fit.sewing_effects());
    Ok(HistoryView { history, struck: struck(book, bench)? })
}

/// The struck sewings. They are measured by the first state with thread in it: what comes later is
/// of the hammer too.
fn struck(book: &Book, bench: &Bench) -> Result<Vec<StruckPoint>, BenchError> {
    let entries = book.struck_trials();
    let (resolution, others) = (book.config().resolution, &bench.observations);
    let alone = observe_entries(&entries, resolution, others.weighing)?;
    let dated = |at: &usize| alone.trials[*at].date.is_some() && is_sewn(&alone, *at);
    let blocks: Vec<Block> = (0..alone.trials.len())
        .filter(dated)
        .map(|at| block(&alone, others, at, entries.trials[at].sewing))
        .collect();
    let expected = bench.fit.expect(&blocks)?;
    let point = |(block, expected): (&Block, &Expected)| {
        let trial = &alone.trials[block.trial];
        let (seen, swell) = block.seen.first().zip(expected.swells.first())?;
        let Seen { swell_mm, variance, .. } = *seen;
        let standardised = (swell_mm - swell.mean()) / swell.with_noise(variance).sd();
        Some(StruckPoint { trial: trial.name.clone(), date: trial.date?, standardised })
    };
    Ok(blocks.iter().zip(&expected).filter_map(point).collect())
}

/// Whether a trial was measured with its thread in it.
fn is_sewn(all: &Observations, at: usize) -> bool {
    all.rows.iter().any(|row| row.trial == at && row.state.has_thread())
}
