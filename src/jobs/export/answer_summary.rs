//! Summarises what the readings of a book say, to share with others, and reads such a summary.

use crate::book::{
    Book, BookError, ByHardness, ByState, Fault, Location, SummaryCounts, SummaryFile,
    SummaryRepeatability, read_summary_file, summary_number,
};
use crate::jobs::fitted::BenchError;
use crate::model::{
    Beliefs, BenchLikelihood, COEFFICIENTS, Coefficient, ModelError, SPREADS_TABLED, SwellFit,
    SwellSpread,
};
use crate::observe::{Observations, Weighing, observe_without};
use crate::trade::{Hardness, State};
use std::collections::BTreeSet;

/// The summary of a book; `None` if no trial was measured at both edges.
///
/// The fit behind it always has the beliefs of common practice, whatever the book believes. Taking
/// them out again is exact only for given spreads, so another bench's own beliefs would leave a
/// trace, and a pool would learn from pools.
pub(crate) fn summary_of(book: &Book) -> Result<Option<SummaryFile>, BenchError> {
    let beliefs = Beliefs::default();
    let all = observe_without(book, &BTreeSet::new(), Weighing::Judged)?;
    if all.rows.is_empty() {
        return Ok(None);
    }
    let fit = SwellFit::new(&all, &beliefs)?;
    let summary = summarised(&BenchLikelihood::of(&fit, &beliefs)?, &all);
    // Our own summary must pass the checks for those of strangers.
    learnt_of(&summary)?;
    Ok(Some(summary))
}

/// The summary of a likelihood and its observations, with numbers as a file holds them.
pub fn summarised(learnt: &BenchLikelihood, all: &Observations) -> SummaryFile {
    let numbers = |row: &[f64]| row.iter().map(|&value| summary_number(value)).collect();
    let triangle = learnt.information.iter().enumerate();
    SummaryFile {
        counts: counts(all),
        repeatability: SummaryRepeatability {
            sd_mm: summary_number(all.repeatability.sd_mm),
            df: summary_number(all.repeatability.df),
        },
        coefficients: Coefficient::ALL.map(|one| one.name().to_owned()).to_vec(),
        information: triangle.map(|(at, row)| numbers(&row[..=at])).collect(),
        weighted: numbers(&learnt.weighted),
        spreads: SwellSpread::ALL.map(|one| one.name().to_owned()).to_vec(),
        spreads_at: SPREADS_TABLED.to_vec(),
        log_likelihood: learnt.spreads.iter().map(|row| numbers(row)).collect(),
    }
}

fn counts(all: &Observations) -> SummaryCounts {
    let observed = all.observed_trials();
    let distinct = |of: &dyn Fn(usize) -> usize| {
        observed.iter().map(|&trial| of(trial)).collect::<BTreeSet<_>>().len() as u64
    };
    let hardness = |wanted: Hardness| {
        let of = |&&trial: &&usize| all.papers[all.trials[trial].paper].hardness == wanted;
        observed.iter().filter(of).count() as u64
    };
    let state = |wanted: State| all.rows.iter().filter(|row| row.state == wanted).count() as u64;
    SummaryCounts {
        papers: distinct(&|trial| all.trials[trial].paper),
        threads: distinct(&|trial| all.trials[trial].thread),
        trials: observed.len() as u64,
        observations: all.rows.len() as u64,
        by_hardness: ByHardness {
            hard: hardness(Hardness::Hard),
            medium: hardness(Hardness::Medium),
            soft: hardness(Hardness::Soft),
        },
        by_state: ByState {
            unsewn: state(State::Unsewn),
            sewn: state(State::Sewn),
            pressed: state(State::Pressed),
            knocked: state(State::Knocked),
            knocked_pressed: state(State::KnockedPressed),
        },
    }
}

/// What a summary says, with the checks for one from a stranger.
///
/// # Errors
/// [`ModelError::Summary`] with the member, what was found and what is possible.
pub fn learnt_of(file: &SummaryFile) -> Result<BenchLikelihood, ModelError> {
    let place = places("coefficients", &file.coefficients, &Coefficient::ALL.map(|it| it.name()))?;
    let spread = places("spreads", &file.spreads, &SwellSpread::ALL.map(|it| it.name()))?;
    if file.spreads_at != SPREADS_TABLED {
        return refused(format!("spreads_at: expected {SPREADS_TABLED:?}"));
    }
    let mut learnt = BenchLikelihood::NOTHING;
    for at in 0..COEFFICIENTS {
        for to in 0..COEFFICIENTS {
            let (row, column) = (place[at].max(place[to]), place[at].min(place[to]));
            learnt.information[at][to] = file.information[row][column];
        }
        learnt.weighted[at] = file.weighted[place[at]];
    }
    for (row, place) in learnt.spreads.iter_mut().zip(spread) {
        row.copy_from_slice(&file.log_likelihood[place]);
    }
    learnt.check(file.counts.observations)?;
    Ok(learnt)
}

/// The index of each known name in the file. Other names are refused.
fn places(member: &str, found: &[String], known: &[&str]) -> Result<Vec<usize>, ModelError> {
    let listed = known.join(", ");
    if let Some(name) = found.iter().find(|name| !known.contains(&name.as_str())) {
        let name = crate::units::shown(name);
        return refused(format!("{member}: '{name}' is not known; expected {listed}"));
    }
    let place = |name: &&str| {
        let place = found.iter().position(|found| found == name);
        place.map_or_else(
            || refused(format!("{member}: '{name}' is missing; expected {listed}")),
            Ok,
        )
    };
    known.iter().map(place).collect()
}

fn refused<T>(message: String) -> Result<T, ModelError> {
    Err(ModelError::Summary { message })
}

/// Reads and checks the summary in a file that messages call `name`.
pub fn read_summary(bytes: &[u8], name: &str) -> Result<(SummaryFile, BenchLikelihood), BookError> {
    let file = read_summary_file(bytes, name)?;
    match learnt_of(&file) {
        Ok(learnt) => Ok((file, learnt)),
        Err(error) => {
            let place = Location { file: name.to_owned(), ..Location::default() };
            Err(BookError::Faults { faults: vec![Fault { place, message: error.to_string() }] })
        }
    }
}
