//! What must hold for an answer part-way, on any book, and its figures from another program.

use crate::evidence::sampler::{imported, planned};
use crate::support::random_books::{
    Size, entries, name, on_disk, tried_paper, tried_thread, untried_paper,
};
use crate::support::same_cases;
use crate::support::{number, rows, value};
use proptest::prelude::*;
use swellbook::book::{Config, Entries};
use swellbook::model::mixed::Summary;
use swellbook::model::{
    Beliefs, Gaussian, PartReading, PartwayFit, Plan, PlannedThread, Prediction, Run, SwellFit,
};
use swellbook::observe::{Observations, observe};
use swellbook::trade::{Hardness, Name, Sewing, State};

/// The error allowed for the engine's own draws, in standard deviations: of a mean, of a quantile.
const ENGINE: (f64, f64) = (0.02, 0.05);
/// Standard errors of the other program allowed in addition.
const ERRORS: f64 = 3.0;
/// The difference allowed between two fits of one book in another order: see invariances.rs.
const SAME: f64 = 1e-6;

fn observed(made: Entries) -> Observations {
    let (_dir, book) = on_disk(&Config::default(), made);
    observe(&book).expect("a made-up book can be observed")
}

/// A book of the first paper and thread, with `sections` sewn all along.
fn plan(all: &Observations, sections: u16, state: State) -> Plan {
    let run = Run {
        paper: tried_paper(all, 0),
        thread: tried_thread(all, 0),
        sewing: Sewing::new(sections, 4, 1, 0).expect("a sewing"),
        boned: false,
    };
    Plan::new(vec![run], state).expect("a plan")
}

/// A part that reads exactly as `fit` expects it to, known to `sd` at each edge.
fn as_expected(fit: &SwellFit, plan: &Plan, sewn: u32, sd: f64) -> PartReading {
    let expected = fit.predict(&plan.begun(sewn, State::Sewn).expect("a part"));
    let fore_edge = Gaussian { mean: expected.fore_edge.mean, sd };
    let spine = Gaussian { mean: fore_edge.mean + expected.swell.mean(), sd };
    PartReading { sewn, state: State::Sewn, spine, fore_edge }
}

fn after(all: &Observations, beliefs: &Beliefs, plan: &Plan, part: &PartReading) -> Prediction {
    let fit = PartwayFit::new(all, beliefs, plan, part).expect("a fit");
    fit.predict_each(std::slice::from_ref(fit.plan())).remove(0)
}

fn raised(part: &PartReading, by_mm: f64) -> PartReading {
    let spine = Gaussian { mean: part.spine.mean + by_mm, ..part.spine };
    PartReading { spine, ..*part }
}

proptest! {
    #![proptest_config(same_cases(6, 20_260_316))]

    #[test]
    fn a_part_as_expected_narrows_the_range_and_leaves_its_middle(
        seed in 0_u64..1000, sewn in 4_u32..20,
    ) {
        let (all, beliefs) = (observed(entries(seed, Size::ANY)), Beliefs::default());
        let fit = SwellFit::new(&all, &beliefs).expect("a fit");
        let plan = plan(&all, 24, State::Knocked);
        let before = fit.predict(&plan);
        let after = after(&all, &beliefs, &plan, &as_expected(&fit, &plan, sewn, 0.05));
        prop_assert!(after.swell.sd() < before.swell.sd());
        prop_assert!(after.fore_edge.sd < before.fore_edge.sd);
        let moved = (after.swell.mean() - before.swell.mean()).abs();
        prop_assert!(moved < 0.1 * before.swell.sd(), "{} by {moved}", before.swell.sd());
        let moved = (after.fore_edge.mean - before.fore_edge.mean).abs();
        prop_assert!(moved < 1e-9, "the fore-edge moved by {moved}");
    }

    #[test]
    fn a_thicker_spine_part_way_is_a_thicker_spine_at_the_end(
        seed in 0_u64..1000, sewn in 4_u32..20,
    ) {
        let (all, beliefs) = (observed(entries(seed, Size::ANY)), Beliefs::default());
        let fit = SwellFit::new(&all, &beliefs).expect("a fit");
        let plan = plan(&all, 24, State::Knocked);
        let part = as_expected(&fit, &plan, sewn, 0.05);
        let mut last = f64::NEG_INFINITY;
        for step in [-0.4, -0.2, 0.0, 0.2, 0.4] {
            let mean = after(&all, &beliefs, &plan, &raised(&part, step)).swell.mean();
            prop_assert!(mean > last, "{step}: {mean} after {last}");
            last = mean;
        }
    }

    #[test]
    fn sharper_readings_and_more_sections_tell_more(seed in 0_u64..1000) {
        let (all, beliefs) = (observed(entries(seed, Size::ANY)), Beliefs::default());
        let fit = SwellFit::new(&all, &beliefs).expect("a fit");
        let plan = plan(&all, 24, State::Sewn);
        let width = |sewn, sd| {
            let after = after(&all, &beliefs, &plan, &as_expected(&fit, &plan, sewn, sd));
            (after.swell.sd(), after.fore_edge.sd)
        };
        for (dull, sharp) in [((8, 0.3), (8, 0.1)), ((8, 0.1), (8, 0.02)), ((4, 0.1), (20, 0.1))] {
            let (dull, sharp) = (width(dull.0, dull.1), width(sharp.0, sharp.1));
            prop_assert!(sharp.0 < dull.0 && sharp.1 < dull.1, "{dull:?} {sharp:?}");
        }
    }

    /// All along and in the same state, the whole is n/q times the part, except for the stage, the
    /// number of sections and the readings. If none of these adds anything, what is measured
    /// settles the end, whatever is believed.
    #[test]
    fn without_stage_and_noise_the_part_settles_the_whole(
        seed in 0_u64..1000, sewn in 1_u32..24, swell in 0.1..0.4_f64,
    ) {
        let mut beliefs = Beliefs::default();
        beliefs.override_spread("stage", 1e-7).expect("a scale");
        beliefs.override_coefficient("length", Some(0.0), Some(1e-9)).expect("a belief");
        let all = observed(entries(seed, Size { trials: (0, 0), ..Size::ANY }));
        let plan = plan(&all, 24, State::Sewn);
        let edge = |mean| Gaussian { mean, sd: 1e-6 };
        let nominal = f64::from(sewn) * 8.0 * all.papers[0].caliper_mm;
        let swell = swell * f64::from(sewn);
        let (spine, fore_edge) = (edge(1.05 * nominal + swell), edge(1.05 * nominal));
        let part = PartReading { sewn, state: State::Sewn, spine, fore_edge };
        let known = after(&all, &beliefs, &plan, &part);
        let times = 24.0 / f64::from(sewn);
        prop_assert!((known.swell.mean() - swell * times).abs() < 1e-4 * times);
        prop_assert!(known.swell.sd() < 1e-4 * times, "{}", known.swell.sd());
        prop_assert!((known.fore_edge.mean - 1.05 * nominal * times).abs() < 1e-4 * times);
        prop_assert!(known.fore_edge.sd < 1e-4 * times);
    }

    #[test]
    fn neither_names_nor_the_order_of_the_book_matter(seed in 0_u64..1000) {
        let original = entries(seed, Size { trials: (2, 8), ..Size::ANY });
        let found = [original.clone(), turned(original)].map(|made| {
            let first = made.papers.iter().position(|paper| is_first(&paper.name, "paper1"));
            let tied = made.threads.iter().position(|thread| is_first(&thread.name, "thread1"));
            let all = observed(made);
            let mut plan = plan(&all, 24, State::Knocked);
            let run = &mut plan.runs_mut()[0];
            let (first, tied) = (first.expect("a paper"), tied.expect("a thread"));
            run.paper = tried_paper(&all, first);
            run.thread = tried_thread(&all, tied);
            let leaves = run.leaves_mm() / 3.0;
            let (spine, fore_edge) = (
                Gaussian { mean: 1.35 * leaves, sd: 0.05 },
                Gaussian { mean: 1.05 * leaves, sd: 0.05 },
            );
            let part = PartReading { sewn: 8, state: State::Sewn, spine, fore_edge };
            let known = after(&all, &Beliefs::default(), &plan, &part);
            (known.swell.summary(), known.percent_quantile(0.5), known.chance(20.0, 30.0))
        });
        let figures = |(Summary { mean, sd, q05, q50, q95 }, percent, chance)| {
            [mean, sd, q05, q50, q95, percent, chance]
        };
        let [one, other] = found.map(figures);
        for (one, other) in one.iter().zip(other) {
            prop_assert!((one - other).abs() < SAME * (1.0 + one.abs()), "{one} {other}");
        }
    }
}

fn is_first(found: &Name, wanted: &str) -> bool {
    found.as_str() == wanted || found.as_str() == renamed(wanted).as_str()
}

/// Reversed, so that it sorts in another order.
fn renamed(text: &str) -> Name {
    name(&text.chars().rev().collect::<String>())
}

/// The same book, with every list reversed and everything renamed.
fn turned(mut made: Entries) -> Entries {
    for paper in &mut made.papers {
        paper.name = renamed(paper.name.as_str());
    }
    for thread in &mut made.threads {
        thread.name = renamed(thread.name.as_str());
    }
    for trial in &mut made.trials {
        trial.name = renamed(trial.name.as_str());
        trial.paper = renamed(trial.paper.as_str());
        trial.thread = renamed(trial.thread.as_str());
    }
    for reading in &mut made.readings {
        reading.trial = renamed(reading.trial.as_str());
    }
    made.papers.reverse();
    made.threads.reverse();
    made.trials.reverse();
    made.readings.reverse();
    made
}

/// Readings of a field such as `7.61;7.55`.
fn readings(field: &str, all: &Observations) -> Gaussian {
    let readings: Vec<f64> = field.split(';').map(number).collect();
    let (mean, sd) = all.measured_edge(&readings).expect("readings");
    Gaussian { mean, sd }
}

/// tests/reference/partway_numpy.py conditions the joint normal distribution with numpy and
/// integrates the spreads by a million draws.
#[test]
fn part_way_answers_agree_with_numpy() {
    let parts = rows("datasets/sampler/parts.csv");
    for (plan, part) in rows("datasets/sampler/plans.csv").iter().zip(&parts) {
        assert_eq!(plan[0], part[0]);
        let (_dir, book) = imported(&plan[0]);
        let all = observe(&book).expect("observations");
        let plan_here = planned(plan, &all);
        let (spine, fore_edge) = (readings(&part[3], &all), readings(&part[4], &all));
        let state = part[2].parse().expect("a state");
        let reading = PartReading { sewn: number(&part[1]) as u32, state, spine, fore_edge };
        let known = after(&all, &Beliefs::default(), &plan_here, &reading);
        let Summary { mean, sd, q05, q50, q95 } = known.swell.summary();
        let path = "tests/reference/partway_numpy.csv";
        let theirs = |quantity: &str| value(path, &plan[0], quantity);
        let error = |quantity: &str| {
            let found = rows(path).into_iter().find(|row| row[0] == plan[0] && row[1] == quantity);
            number(&found.expect("a row")[3])
        };
        assert!(theirs("effective") > 100_000.0);
        let scale = theirs("sd");
        let pairs = [
            ("mean", mean, ENGINE.0),
            ("sd", sd, ENGINE.1),
            ("q05", q05, ENGINE.1),
            ("q50", q50, ENGINE.1),
            ("q95", q95, ENGINE.1),
        ];
        for (quantity, ours, engine) in pairs {
            let off = (ours - theirs(quantity)).abs();
            let allowed = engine * scale + ERRORS * error(quantity);
            assert!(off <= allowed, "{} {quantity}: {ours} {}", plan[0], theirs(quantity));
        }
        let off = (known.chance(20.0, 30.0) - theirs("chance")).abs();
        assert!(off < 0.01, "{}: chance off by {off}", plan[0]);
        assert!((known.fore_edge.mean - theirs("fore_edge")).abs() < 1e-6);
        assert!((known.fore_edge.sd - theirs("fore_edge_sd")).abs() < 1e-6);
    }
}

/// A part of new stock teaches about that stock. For its paper and thread, the range of a new
/// sewing narrows by more than a tenth. For a paper with no section sewn yet, it narrows less.
#[test]
fn a_part_of_new_stock_teaches_only_about_that_stock() {
    let all = observed(entries(8, Size::ANY));
    let fit = SwellFit::new(&all, &Beliefs::default()).expect("a fit");
    let new = |called: &str| Run {
        paper: untried_paper(called, 0.11, Hardness::Soft),
        thread: PlannedThread { name: name("new cord"), level: None, diameter_mm: 0.5 },
        sewing: Sewing::new(12, 4, 1, 0).expect("a sewing"),
        boned: false,
    };
    let plan = Plan::new(vec![new("first"), new("second")], State::Sewn).expect("a plan");
    let part = as_expected(&fit, &plan, 12, 0.03);
    let after = PartwayFit::new(&all, &Beliefs::default(), &plan, &part).expect("a fit");
    let narrowed = |which: usize| {
        let alone = |plan: &Plan| plan.with_runs(vec![plan.runs()[which].clone()]).expect("a plan");
        let now = after.predict_anew(&alone(after.plan())).swell.sd();
        now / fit.predict(&alone(&plan)).swell.sd()
    };
    let (first, second) = (narrowed(0), narrowed(1));
    assert!(first < 0.9 && first < second && second < 1.0, "{first} {second}");
}

#[test]
fn a_part_is_the_first_sections_and_has_at_least_one() {
    let all = observed(entries(3, Size::ANY));
    let plan = plan(&all, 24, State::Sewn);
    assert!(plan.begun(0, State::Sewn).is_err() && plan.begun(8, State::Unsewn).is_err());
    let (begun, left) = plan.split(8);
    assert_eq!((begun[0].sewing.sections(), left[0].sewing.sections()), (8, 16));
    assert_eq!(plan.split(24).1, []);
}
