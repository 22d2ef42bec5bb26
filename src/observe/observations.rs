//! The observations of a book, with the repeatability, ratios and readings out of line found on the
//! way.

use super::plain::{
    DownWeighted, Observation, ObserveError, PaperLevel, Sewn, ThreadLevel, Weighing,
};
use super::ratios::{self, TrialRatio};
use super::repeatability::Repeatability;
use super::sets::{Set, Sets, sets};
use super::slips::{Judged, Usual};
use super::stock::Stock;
use crate::book::{Book, Entries};
use crate::trade::Name;
use crate::units::Millimetres;
use std::collections::BTreeSet;
use std::ops::Range;

/// Everything the model needs from a book.
#[derive(Clone, Debug)]
pub struct Observations {
    pub papers: Vec<PaperLevel>,
    pub threads: Vec<ThreadLevel>,
    /// The hands that sewed. Trials without a hand share one with an empty name.
    pub hands: Vec<String>,
    pub trials: Vec<Sewn>,
    /// Observations in order of trial and state.
    pub rows: Vec<Observation>,
    pub repeatability: Repeatability,
    /// Fore-edge thickness over nominal, for each trial measured at the fore-edge.
    pub ratios: Vec<TrialRatio>,
    /// Readings out of line, in order of trial, state and edge.
    pub down_weighted: Vec<DownWeighted>,
    /// The gauge's resolution in mm.
    pub resolution_mm: f64,
    pub weighing: Weighing,
    /// How well readings usually repeat, if they are judged by it.
    usual: Option<Usual>,
}

impl Observations {
    /// Mean and standard deviation in mm of a thickness, from its `readings` in mm; `None` without
    /// readings. They are judged like those of a trial: one out of line counts less.
    pub fn measured_edge(&self, readings: &[f64]) -> Option<(f64, f64)> {
        if readings.is_empty() {
            return None;
        }
        let count = readings.len() as f64;
        let (mean, worth) = match self.judged(readings) {
            Some(judged) => (judged.mean, judged.worth()),
            None => (readings.iter().sum::<f64>() / count, count),
        };
        let variance = self.repeatability.edge_variance(worth, self.resolution_mm);
        Some((mean, variance.sqrt()))
    }

    /// Which of these readings in mm of one thickness, not in the book, are out of line.
    pub fn out_of_line(&self, readings: &[f64]) -> Vec<f64> {
        let weights = self.judged(readings).map_or_else(Vec::new, |judged| judged.weights);
        readings.iter().zip(weights).filter(|(_, weight)| *weight < 1.0).map(|it| *it.0).collect()
    }

    fn judged(&self, readings: &[f64]) -> Option<Judged> {
        self.usual.as_ref()?.judge_new(readings, self.resolution_mm)
    }

    /// The swell in mm as measured at the block: repairs at the fold are part of it.
    pub fn measured_swell_mm(&self, of: &Observation) -> f64 {
        of.swell_mm + self.trials[of.trial].guards_mm
    }

    /// The same in per cent of the fore-edge: `100·(W + guards)/F`.
    pub fn measured_percent(&self, of: &Observation) -> f64 {
        100.0 * self.measured_swell_mm(of) / of.fore_edge_mm
    }

    /// Noise variance in mm² of an observation under this book's repeatability. The observation may
    /// come from another book.
    pub fn noise_variance(&self, of: &Observation) -> f64 {
        let (spines, fore_edges) = (of.spine_readings, of.fore_edge_readings);
        self.repeatability.swell_variance(spines, fore_edges, self.resolution_mm)
    }

    /// Where the observations of a trial are in [`Observations::rows`].
    pub fn rows_of(&self, trial: usize) -> Range<usize> {
        let start = self.rows.partition_point(|row| row.trial < trial);
        let own = self.rows[start..].iter().take_while(|row| row.trial == trial).count();
        start..start + own
    }

    /// Trials with at least one observation, as indices into [`Observations::trials`].
    pub fn observed_trials(&self) -> Vec<usize> {
        let mut trials: Vec<usize> = self.rows.iter().map(|row| row.trial).collect();
        trials.dedup();
        trials
    }

    /// Trials measured with thread in their folds, as indices into [`Observations::trials`]. A
    /// block that was only measured unsewn informs the fit, but it is not yet a trial of a sewing.
    pub fn sewn_trials(&self) -> Vec<usize> {
        let sewn = self.rows.iter().filter(|row| row.state.has_thread());
        let mut trials: Vec<usize> = sewn.map(|row| row.trial).collect();
        trials.dedup();
        trials
    }
}

/// # Errors
/// [`ObserveError`] if a trial names a paper or thread that the book does not have.
pub fn observe(book: &Book) -> Result<Observations, ObserveError> {
    observe_entries(book.entries(), book.config().resolution, Weighing::Judged)
}

/// Makes the observations of a book as if the trials in `left_out` were struck: their readings are
/// ignored, in the repeatability too.
pub fn observe_without(
    book: &Book,
    left_out: &BTreeSet<&Name>,
    weighing: Weighing,
) -> Result<Observations, ObserveError> {
    let mut entries = book.entries().clone();
    entries.trials.retain(|trial| !left_out.contains(&trial.name));
    entries.readings.retain(|reading| !left_out.contains(&reading.trial));
    observe_entries(&entries, book.config().resolution, weighing)
}

/// Makes the observations of entries that need not be in a book on disk, measured with a gauge of
/// this resolution. The caller must leave out struck entries.
pub fn observe_entries(
    entries: &Entries,
    resolution: Millimetres,
    weighing: Weighing,
) -> Result<Observations, ObserveError> {
    let Stock { papers, threads, hands, trials } = Stock::of(entries)?;
    let resolution_mm = resolution.mm();
    let Sets { list, down_weighted, usual } =
        sets(&entries.readings, &trials, resolution_mm, weighing);
    let within = list.iter().filter_map(|set| set.within);
    let (squares, freedom) = within.fold((0.0, 0.0), |all, own| (all.0 + own.0, all.1 + own.1));
    let repeatability = Repeatability::pooled(squares, freedom);
    Ok(Observations {
        rows: observations(&list, &trials, repeatability, resolution_mm),
        ratios: ratios::of_trials(&list, &trials),
        papers,
        threads,
        hands,
        trials,
        repeatability,
        down_weighted,
        resolution_mm,
        weighing,
        usual,
    })
}

/// Pairs the spine and fore-edge sets of each trial and state, in order of trial and state.
fn observations(
    sets: &[Set],
    trials: &[Sewn],
    repeatability: Repeatability,
    resolution_mm: f64,
) -> Vec<Observation> {
    let side_by_side = |pair: &[Set]| {
        let [spine, fore_edge] = pair else { return None };
        let same = (spine.trial, spine.state) == (fore_edge.trial, fore_edge.state);
        same.then(|| Observation {
            trial: spine.trial,
            state: spine.state,
            swell_mm: spine.mean - fore_edge.mean - trials[spine.trial].guards_mm,
            variance: repeatability.swell_variance(
                spine.readings,
                fore_edge.readings,
                resolution_mm,
            ),
            spine_readings: spine.readings,
            fore_edge_readings: fore_edge.readings,
            fore_edge_mm: fore_edge.mean,
        })
    };
    sets.windows(2).filter_map(side_by_side).collect()
}
