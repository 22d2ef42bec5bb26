//! A planned book for the bench: how it is sewn, and how thick its spine is on the way.

use super::bench::Bench;
use super::forecast::Forecast;
use crate::model::mixed::Summary;
use crate::model::{Gaussian, ModelError, Plan, Run};
use crate::trade::{Caution, Height, State, Stretch, Stuff, Supports, WANTED_ENDS};
use crate::units::Millimetres;
use thiserror::Error;

/// Into so many parts the sewing is divided; the spine is foretold at the end of each.
const PARTS: u32 = 4;

/// Everything that stands on a bench card.
#[derive(Clone, Debug)]
pub struct Card {
    /// What the book will come to.
    pub forecast: Forecast,
    /// What it is sewn on.
    pub supports: Supports,
    /// Its height along the spine.
    pub height: Height,
    /// Its runs, in the order of sewing.
    pub runs: Vec<CardRun>,
    /// The spine on the way, as sewn.
    pub checks: Vec<SpineCheck>,
}

/// A run of sections at the bench.
#[derive(Clone, Debug)]
pub struct CardRun {
    /// The run.
    pub run: Run,
    /// Sections of the book sewn before it.
    pub before: u32,
    /// The way of the thread, traverses that are alike together.
    pub stretches: Vec<Stretch>,
    /// Thread to lay ready.
    pub thread: Millimetres,
    /// What speaks against it.
    pub cautions: Vec<Caution>,
}

/// How thick the spine is when so many sections are sewn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpineCheck {
    /// Sections sewn.
    pub sewn: u32,
    /// One reading of the spine in mm, as sewn.
    pub spine: Summary,
}

/// What a card is made for, besides the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtBench {
    /// What the book is sewn on.
    pub supports: Supports,
    /// Its height along the spine.
    pub height: Height,
}

/// Why there is no card.
#[derive(Debug, Error)]
pub enum CardError {
    /// Sections that the thread of their traverse never lies in.
    #[error(
        "{on} sections to a traverse want {} supports or more, or one of them is not caught by the \
         thread; found {}",
        on - 1,
        supports.count()
    )]
    Unreached {
        /// Sections to a traverse.
        on: usize,
        /// The supports there are.
        supports: Supports,
    },
    /// The model has no answer.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// The card of a forecast's plan.
///
/// # Errors
/// [`CardError`].
pub fn card(bench: &Bench, forecast: Forecast, at: AtBench) -> Result<Card, CardError> {
    let AtBench { supports, height } = at;
    let runs = runs(&forecast.plan, at);
    let widest = runs.iter().flat_map(|run| &run.stretches).map(|stretch| stretch.on).max();
    if let Some(on) = widest.filter(|&on| on > supports.spans()) {
        return Err(CardError::Unreached { on, supports });
    }
    let checks = checks(bench, &forecast.plan, &runs)?;
    Ok(Card { forecast, supports, height, runs, checks })
}

fn runs(plan: &Plan, at: AtBench) -> Vec<CardRun> {
    let mut before = 0;
    let mut runs = Vec::new();
    for run in plan.runs() {
        let after = plan.sections() - before - u32::from(run.sewing.sections());
        runs.push(CardRun {
            run: run.clone(),
            before,
            stretches: run.sewing.stretches(at.supports),
            thread: run.sewing.thread_length(at.height),
            cautions: cautions(run, (before, after), at.supports),
        });
        before += u32::from(run.sewing.sections());
    }
    runs
}

/// The ends that count are those of the book, of which the sections before and after the run are
/// part.
fn cautions(run: &Run, (before, after): (u32, u32), supports: Supports) -> Vec<Caution> {
    let sizes =
        Millimetres::new(run.paper.caliper_mm).zip(Millimetres::new(run.thread.diameter_mm));
    let Some((caliper, thread)) = sizes else { return Vec::new() };
    let stuff = Stuff { caliper, hardness: run.paper.hardness, thread };
    let first = before + u32::from(run.sewing.first());
    let last = after + u32::from(run.sewing.last());
    let short = first.min(last) < u32::from(WANTED_ENDS);
    let mut found = Caution::of(run.sewing, stuff, Some(u16::from(supports.count())));
    found.retain(|caution| *caution != Caution::ShortEnds || short);
    found
}

/// Where a traverse ends next to each quarter of the sections: the thread is at a kettle there, so
/// that the sewing can rest and be measured.
fn stops(plan: &Plan, runs: &[CardRun]) -> Vec<u32> {
    let ends: Vec<u32> = runs
        .iter()
        .flat_map(|run| run.stretches.iter().flat_map(Stretch::ends).map(|end| run.before + end))
        .collect();
    let wanted = (1..=PARTS).map(|part| (plan.sections() * part).div_ceil(PARTS));
    let mut stops: Vec<u32> =
        wanted.filter_map(|wanted| ends.iter().copied().find(|&end| end >= wanted)).collect();
    stops.dedup();
    stops
}

/// `S = W + F` of the sections sewn, and one reading of it: the swell's mixture with the variances
/// of F and of a reading added. Source: docs/model.md, "The spine on the way".
fn checks(bench: &Bench, plan: &Plan, runs: &[CardRun]) -> Result<Vec<SpineCheck>, ModelError> {
    let stops = stops(plan, runs);
    let parts: Result<Vec<Plan>, _> =
        stops.iter().map(|&sewn| plan.begun(sewn, State::Sewn)).collect();
    let parts = parts?;
    let foretold = bench.fit.predict_each(&parts).into_iter().zip(&parts).zip(stops);
    Ok(foretold
        .map(|((part_swell, part), sewn)| {
            let Gaussian { mean, sd } = bench.fit.fore_edge_of_part(plan, part);
            let reading = bench.observations.measured_edge(&[mean]).map_or(0.0, |(_, sd)| sd);
            let swell = part_swell.swell.with_noise(sd * sd + reading * reading).summary();
            SpineCheck { sewn, spine: raised(swell, mean) }
        })
        .collect())
}

/// The distribution of a sum with a known length.
fn raised(summary: Summary, by: f64) -> Summary {
    let Summary { mean, sd, q05, q50, q95 } = summary;
    Summary { mean: mean + by, sd, q05: q05 + by, q50: q50 + by, q95: q95 + by }
}
