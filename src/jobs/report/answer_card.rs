//! A planned book for the bench: how to sew it, and how thick its spine should be on the way.

use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::plan::answer_way::stuff_of;
use crate::model::mixed::Summary;
use crate::model::{Gaussian, ModelError, Plan, Run};
use crate::trade::{Caution, Height, State, Stretch, Supports, WANTED_ENDS};
use crate::units::Millimetres;
use thiserror::Error;

/// The day on which a card was made.
pub(crate) type Day = jiff::civil::Date;

/// Number of parts of the sewing; the spine is predicted at the end of each.
const PARTS: u32 = 4;

#[derive(Clone, Debug)]
pub struct Card {
    pub forecast: Forecast,
    /// The hand that will sew, if it was named.
    pub hand: Option<String>,
    pub at: AtBench,
    /// Its runs, in the order of sewing.
    pub runs: Vec<CardRun>,
    /// The predicted spine at stops on the way, as sewn.
    pub checks: Vec<SpineCheck>,
}

#[derive(Clone, Debug)]
pub struct CardRun {
    pub run: Run,
    /// Sections of the book sewn before this run.
    pub before: u32,
    /// The path of the thread, with identical traverses grouped.
    pub stretches: Vec<Stretch>,
    pub thread: Millimetres,
    pub cautions: Vec<Caution>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpineCheck {
    pub sewn: u32,
    /// A single reading of the spine in mm, as sewn.
    pub spine: Summary,
}

/// What a card needs besides the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtBench {
    pub supports: Supports,
    pub height: Height,
}

#[derive(Debug, Error)]
pub enum CardError {
    /// The thread of a traverse would never lie in some of its sections.
    #[error(
        "{on} sections to a traverse need {} supports or more, or the thread misses one of them; \
         found {}",
        on - 1,
        supports.count()
    )]
    Unreached {
        /// Sections to a traverse.
        on: usize,
        supports: Supports,
    },
    #[error(transparent)]
    Model(#[from] ModelError),
}

pub fn card(bench: &Bench, forecast: Forecast, at: AtBench) -> Result<Card, CardError> {
    let runs = runs(&forecast.plan, at);
    let widest = runs.iter().flat_map(|run| &run.stretches).map(|stretch| stretch.on).max();
    if let Some(on) = widest.filter(|&on| on > at.supports.spans()) {
        return Err(CardError::Unreached { on, supports: at.supports });
    }
    let checks = checks(bench, &forecast.plan, &runs)?;
    let hand = forecast.plan.hand.map(|hand| bench.observations.hands[hand].clone());
    Ok(Card { forecast, hand, at, runs, checks })
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
            cautions: cautions(run, before, after, at.supports),
        });
        before += u32::from(run.sewing.sections());
    }
    runs
}

/// The cautions of a run. Its ends are judged within the whole book, so the sections before and
/// after the run count.
fn cautions(run: &Run, before: u32, after: u32, supports: Supports) -> Vec<Caution> {
    let Some(stuff) = stuff_of(&run.paper, &run.thread) else { return Vec::new() };
    let shares = run.sewing.stretches(supports).iter().any(|stretch| stretch.on > 1);
    let first = before + u32::from(run.sewing.first());
    let last = after + u32::from(run.sewing.last());
    let short = first.min(last) < u32::from(WANTED_ENDS);
    let mut found = Caution::of(run.sewing, stuff, Some(u16::from(supports.count())));
    found.retain(|caution| match caution {
        // A run that consists only of ends is sewn all along, whatever its pattern.
        Caution::SkippedKettles | Caution::FewSupports => shares,
        Caution::ShortEnds => shares && short,
        Caution::ThinThread | Caution::ThickThread | Caution::ThickSections => true,
    });
    found
}

/// The first end of a traverse at or after each quarter of the sections. There the thread is at a
/// kettle stitch, so the sewing can rest and be measured.
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

/// A single reading of `S = W + F` for the sections sewn: the mixture of the swell W, with the
/// variances of F and of a reading added. Source: docs/model.md, "The spine as you sew".
fn checks(bench: &Bench, plan: &Plan, runs: &[CardRun]) -> Result<Vec<SpineCheck>, ModelError> {
    let stops = stops(plan, runs);
    let parts: Result<Vec<Plan>, _> =
        stops.iter().map(|&sewn| plan.begun(sewn, State::Sewn)).collect();
    let parts = parts?;
    let predicted = bench.fit.predict_each(&parts).into_iter().zip(&parts).zip(stops);
    Ok(predicted
        .map(|((part_swell, part), sewn)| {
            let Gaussian { mean, sd } = bench.fit.fore_edge_of_part(plan, part);
            let reading = bench.observations.measured_edge(&[mean]).map_or(0.0, |(_, sd)| sd);
            let swell = part_swell.swell.with_noise(sd * sd + reading * reading).summary();
            SpineCheck { sewn, spine: raised(swell, mean) }
        })
        .collect())
}

/// The distribution shifted by a known length.
fn raised(summary: Summary, by: f64) -> Summary {
    let Summary { mean, sd, q05, q50, q95 } = summary;
    Summary { mean: mean + by, sd, q05: q05 + by, q50: q50 + by, q95: q95 + by }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::beliefs::answer_grounds::Grounds;
    use crate::jobs::forecast::answer::forecast;
    use crate::jobs::forecast::answer_test_plan::{paper, thread};
    use crate::model::mixed::normal_cdf;
    use crate::model::{PlannedPaper, PlannedThread};
    use crate::observe::{Weighing, observe_entries};
    use crate::trade::Sewing;

    fn run(sewing: Sewing) -> Run {
        let paper = PlannedPaper { level: None, ..paper("bond") };
        let thread = PlannedThread { level: None, ..thread("linen", 0.5) };
        Run { paper, thread, sewing, boned: false }
    }

    fn plan(sewings: &[(u16, u8, u16)]) -> Plan {
        let run = |&(sections, on, ends)| run(Sewing::new(sections, 4, on, ends).unwrap());
        Plan::new(sewings.iter().map(run).collect(), State::Knocked).unwrap()
    }

    fn at(supports: u8) -> AtBench {
        let height = Height::new(Millimetres::new(250.0).unwrap()).unwrap();
        AtBench { supports: Supports::new(supports).unwrap(), height }
    }

    fn empty_bench() -> Bench {
        let nominal = crate::model::SwellFit::nominal(&crate::model::Beliefs::default()).unwrap();
        let resolution = Millimetres::new(0.01).unwrap();
        let none = crate::book::Entries::default();
        let observations = observe_entries(&none, resolution, Weighing::Judged).unwrap();
        Bench::new(observations, nominal.clone(), nominal, Grounds::default())
    }

    fn made(plan: Plan, supports: u8) -> Result<Card, CardError> {
        let bench = empty_bench();
        let forecast = forecast(&bench, plan, None);
        card(&bench, forecast, at(supports))
    }

    #[test]
    fn the_sewing_rests_where_a_traverse_ends() {
        let sewn = |sewings: &[(u16, u8, u16)]| -> Vec<u32> {
            made(plan(sewings), 4).unwrap().checks.iter().map(|check| check.sewn).collect()
        };
        assert_eq!(sewn(&[(24, 1, 0)]), [6, 12, 18, 24]);
        assert_eq!(sewn(&[(24, 2, 3)]), [7, 13, 19, 24]);
        assert_eq!(sewn(&[(18, 1, 0), (4, 2, 0)]), [6, 11, 17, 22]);
        assert_eq!((sewn(&[(1, 1, 0)]), sewn(&[(2, 1, 0)])), (vec![1], vec![1, 2]));
    }

    #[test]
    fn a_section_that_no_thread_lies_in_is_refused() {
        let refused = made(plan(&[(12, 3, 0)]), 1).unwrap_err();
        assert!(refused.to_string().contains("2 supports or more"), "{refused}");
        assert!(made(plan(&[(12, 3, 0)]), 2).is_ok());
    }

    #[test]
    fn the_ends_that_are_warned_of_are_those_of_the_book() {
        let warned = |sewings: &[(u16, u8, u16)]| -> Vec<bool> {
            let card = made(plan(sewings), 4).unwrap();
            card.runs.iter().map(|run| run.cautions.contains(&Caution::ShortEnds)).collect()
        };
        assert_eq!(warned(&[(24, 2, 2)]), [true]);
        assert_eq!(warned(&[(3, 1, 0), (12, 2, 0), (3, 1, 0)]), [false, false, false]);
        assert_eq!(warned(&[(3, 1, 0), (12, 2, 0)]), [false, true]);
        let two = made(plan(&[(2, 2, 1)]), 4).unwrap();
        assert_eq!(two.runs[0].cautions, []);
    }

    /// Checks against the distribution of a sum of independent W and F by Simpson's rule over F,
    /// which shares nothing with the closed form.
    #[test]
    fn the_range_of_the_spine_holds_nine_times_in_ten() {
        let (bench, plan) = (empty_bench(), plan(&[(24, 2, 3)]));
        let card = made(plan.clone(), 4).unwrap();
        for check in card.checks {
            let part = plan.begun(check.sewn, State::Sewn).unwrap();
            let swell = bench.fit.predict(&part).swell;
            let edge = bench.fit.fore_edge_of_part(&plan, &part);
            let noise = bench.observations.measured_edge(&[edge.mean]).unwrap().1;
            let sd = edge.sd.hypot(noise);
            let below = |spine: f64| {
                let (steps, width) = (400, 16.0 / 400.0);
                let at = |step: i32| {
                    let z = -8.0 + f64::from(step) * width;
                    let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
                    let share: f64 = swell
                        .components()
                        .map(|(w, m, s)| w * normal_cdf((spine - edge.mean - sd * z - m) / s))
                        .sum();
                    density * share
                };
                let weight = |step: i32| match step {
                    0 | 400 => 1.0,
                    odd if odd % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                (0..=steps).map(|step| weight(step) * at(step)).sum::<f64>() * width / 3.0
            };
            for (quantile, share) in
                [(check.spine.q05, 0.05), (check.spine.q50, 0.5), (check.spine.q95, 0.95)]
            {
                assert!((below(quantile) - share).abs() < 1e-6, "{} {share}", check.sewn);
            }
        }
    }

    #[test]
    fn a_folded_block_that_was_measured_says_how_thick_its_part_is() {
        let bench = empty_bench();
        let mut plan = plan(&[(24, 1, 0)]);
        let part = plan.begun(6, State::Sewn).unwrap();
        let before = bench.fit.fore_edge_of_part(&plan, &part);
        assert_eq!(before, bench.fit.fore_edge(&part));
        plan.fore_edge = Some(Gaussian { mean: 21.0, sd: 1e-9 });
        let after = bench.fit.fore_edge_of_part(&plan, &part);
        assert!((after.mean - 21.0 / 4.0).abs() < 1e-6 && after.sd < 1e-6, "{after:?}");
    }
}
