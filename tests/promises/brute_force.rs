//! The engine agrees with the slow dense model on books made up at random.

use crate::dense::{self, Block, COEFFICIENTS, Linear, SPREADS};
use crate::dense_draws::{Conditioned, Draws};
use crate::random_books::{Random, Size, any_sewing, entries, name, on_disk};
use std::fmt::Write as _;
use std::time::Instant;
use swellbook::book::{Book, Config};
use swellbook::model::mixed::{Summary, normal_cdf};
use swellbook::model::{
    Beliefs, Gaussian, Plan, PlannedPaper, PlannedThread, Prediction, Run, SwellFit,
};
use swellbook::observe::{Observations, observe};
use swellbook::trade::{Hardness, State};
use swellbook::units::Millimetres;

/// What is asked of the engine, as shares of the sd of what is predicted: integration over the
/// spreads may not show in a figure given to a binder.
const MEAN: f64 = 0.02;
const QUANTILE: f64 = 0.05;
/// A spread is no mixture of normals but the weighted draws themselves, some hundreds of them
/// effective, and its upper quantile lies where there are few.
const SPREAD_MEAN: f64 = 0.05;
const SPREAD_QUANTILE: f64 = 0.12;
/// And of a chance.
const CHANCE: f64 = 0.01;
/// With the spreads given there is nothing but algebra: what two orders of solving may differ by.
const ALGEBRA: f64 = 1e-9;
/// Standard error of the slow side, as a share of the tolerance it is held against.
const SLOW_ERROR: f64 = 0.3;

const BOTH: [State; 2] = [State::Sewn, State::Knocked];

/// Books by seed: from one without trials to five papers and twelve trials, one of two hands.
fn books() -> Vec<(u64, Size, usize)> {
    let of = |papers, threads, trials| Size { papers, threads, trials, hands: 1 };
    vec![
        (1, of((1, 1), (1, 1), (0, 0)), 16_000),
        (2, of((1, 1), (1, 1), (1, 1)), 24_000),
        (3, of((1, 2), (1, 2), (2, 4)), 24_000),
        (4, of((3, 5), (1, 3), (4, 6)), 24_000),
        (5, Size { hands: 2, ..of((2, 3), (2, 2), (5, 8)) }, 24_000),
        (6, of((2, 4), (1, 3), (7, 9)), 24_000),
        (7, of((1, 1), (3, 3), (9, 11)), 40_000),
        (8, of((5, 5), (3, 3), (12, 12)), 24_000),
        (9, Size::ANY, 24_000),
    ]
}

/// The largest differences found, in shares of an sd or plain for chances.
#[derive(Default)]
struct Found {
    lines: String,
    worst: [f64; 5],
    failures: Vec<String>,
}

const KINDS: [(&str, f64); 5] = [
    ("mean", MEAN),
    ("quantile", QUANTILE),
    ("chance", CHANCE),
    ("spread mean", SPREAD_MEAN),
    ("spread quantile", SPREAD_QUANTILE),
];

impl Found {
    /// `ours` against `theirs`, which has a standard error; both in units of `unit`.
    fn compare(
        &mut self,
        what: &str,
        kind: usize,
        ours: f64,
        (theirs, error): (f64, f64),
        unit: f64,
    ) {
        let (difference, error) = ((ours - theirs).abs() / unit, error / unit);
        let (named, tolerance) = KINDS[kind];
        self.worst[kind] = self.worst[kind].max(difference);
        if difference.is_nan() || difference > tolerance {
            self.failures
                .push(format!("{what}, {named}: {ours} against {theirs}, {difference:.4} sd"));
        }
        if error.is_nan() || error > SLOW_ERROR * tolerance {
            self.failures
                .push(format!("{what}, {named}: the slow side is uncertain by {error:.4} sd"));
        }
    }
}

/// A mixture of normals over the draws.
struct Slow<'a> {
    draws: &'a Draws,
    parts: Vec<(f64, f64)>,
}

impl Slow<'_> {
    fn mean(&self) -> (f64, f64) {
        let means: Vec<f64> = self.parts.iter().map(|part| part.0).collect();
        self.draws.average(&means)
    }

    fn sd(&self) -> f64 {
        let mean = self.mean().0;
        let squares: Vec<f64> = self.parts.iter().map(|(m, v)| v + (m - mean).powi(2)).collect();
        self.draws.average(&squares).0.sqrt()
    }

    /// The share at or below `x`, with its standard error, of the ratio to a normal fore-edge.
    fn share(&self, x: f64, edge: (f64, f64)) -> (f64, f64) {
        let one = |&(mean, variance): &(f64, f64)| {
            normal_cdf((x * edge.0 - mean) / (variance + x * x * edge.1).sqrt())
        };
        self.draws.average(&self.parts.iter().map(one).collect::<Vec<_>>())
    }

    /// By secant from a bracket that the normal of the same moments gives; the slope of the cdf
    /// turns the error of a share into that of the quantile.
    fn quantile(&self, p: f64, edge: (f64, f64)) -> (f64, f64) {
        let (mean, sd) = (
            self.mean().0 / edge.0,
            self.sd().hypot(self.mean().0 / edge.0 * edge.1.sqrt()) / edge.0,
        );
        let z = 1.6449 * (p - 0.5) / 0.45;
        let (mut from, mut to) = (mean + (z - 0.05) * sd, mean + (z + 0.05) * sd);
        let (mut low, mut high) = (self.share(from, edge), self.share(to, edge));
        for _ in 0..20 {
            let slope = (high.0 - low.0) / (to - from);
            let next = to + (p - high.0) / slope;
            if (next - to).abs() < 1e-7 * sd {
                return (next, high.1 / slope);
            }
            (from, low) = (to, high);
            (to, high) = (next, self.share(next, edge));
        }
        panic!("no quantile {p} of {mean} ± {sd}");
    }
}

/// The number itself, not a ratio.
const PLAIN: (f64, f64) = (1.0, 0.0);

fn compare_summary(found: &mut Found, what: &str, ours: &Summary, slow: &Slow) {
    let sd = slow.sd();
    found.compare(what, 0, ours.mean, slow.mean(), sd);
    // An sd is a length like the mean, and is held to the quantiles' tolerance.
    found.compare(what, 1, ours.sd, (sd, 0.0), sd);
    for (p, ours) in [(0.05, ours.q05), (0.50, ours.q50), (0.95, ours.q95)] {
        found.compare(&format!("{what} q{p}"), 1, ours, slow.quantile(p, PLAIN), sd);
    }
}

/// The quantile of weighted values, with the standard error its share has by the density around.
fn of_values(values: &[f64], draws: &Draws, p: f64) -> (f64, f64) {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let at = |p: f64| {
        let mut sum = 0.0;
        let passed = |&&i: &&usize| {
            sum += draws.weights[i];
            sum >= p
        };
        values[*order.iter().find(passed).unwrap_or(&order[order.len() - 1])]
    };
    let quantile = at(p);
    let below: Vec<f64> = values.iter().map(|&v| f64::from(u8::from(v <= quantile))).collect();
    let width = at((p + 0.02).min(1.0)) - at((p - 0.02).max(0.0));
    (quantile, draws.average(&below).1 * width / 0.04)
}

fn compare_spread(found: &mut Found, what: &str, ours: &Summary, values: &[f64], draws: &Draws) {
    let mean = draws.average(values);
    let squares: Vec<f64> = values.iter().map(|value| (value - mean.0).powi(2)).collect();
    let sd = draws.average(&squares).0.sqrt();
    found.compare(what, 3, ours.mean, mean, sd);
    for (p, ours) in [(0.05, ours.q05), (0.50, ours.q50), (0.95, ours.q95)] {
        found.compare(&format!("{what} q{p}"), 4, ours, of_values(values, draws, p), sd);
    }
}

fn compare_plan(found: &mut Found, what: &str, ours: &Prediction, slow: &Slow, edge: (f64, f64)) {
    compare_summary(found, what, &ours.swell.summary(), slow);
    let Gaussian { mean, sd } = ours.fore_edge;
    assert!((mean - edge.0).abs() < ALGEBRA && (sd - edge.1.sqrt()).abs() < ALGEBRA, "{what}");
    let quantiles = [0.05, 0.50, 0.95].map(|p| (p, slow.quantile(p, edge)));
    let sd = 100.0 * (quantiles[2].1.0 - quantiles[0].1.0) / (2.0 * 1.6449);
    for (p, (ratio, error)) in quantiles {
        let percent = (100.0 * ratio, 100.0 * error);
        found.compare(&format!("{what} % q{p}"), 1, ours.percent_quantile(p), percent, sd);
    }
    for (low, high) in [(0.0, 8.0), (3.0, 15.0), (12.0, 22.0), (25.0, 35.0)] {
        let (low_share, high_share) =
            (slow.share(low / 100.0, edge), slow.share(high / 100.0, edge));
        let chance = (high_share.0 - low_share.0, high_share.1.hypot(low_share.1));
        found.compare(&format!("{what} {low}..{high} %"), 2, ours.chance(low, high), chance, 1.0);
    }
}

/// Plans of one paper and of several, in the book and not, with one run and more.
fn plans(random: &mut Random, all: &Observations) -> Vec<Plan> {
    let known = |level: usize| {
        let paper = &all.papers[level];
        let (name, hardness) = (paper.name.clone(), paper.hardness);
        PlannedPaper { name, level: Some(level), caliper_mm: paper.caliper_mm, hardness }
    };
    let threads = all.threads.len();
    let tied = |level: usize| {
        let thread = &all.threads[level];
        PlannedThread {
            name: thread.name.clone(),
            level: Some(level),
            diameter_mm: thread.diameter_mm,
        }
    };
    let paper = |called, caliper_mm| PlannedPaper {
        name: name(called),
        level: None,
        caliper_mm,
        hardness: Hardness::Soft,
    };
    let thread = |called| PlannedThread { name: name(called), level: None, diameter_mm: 0.52 };
    let mut run = |paper, thread| Run { paper, thread, sewing: any_sewing(random) };
    let one = vec![run(known(0), tied(0))];
    let mixed = vec![
        run(known(all.papers.len() - 1), tied(threads - 1)),
        run(known(0), thread("other")),
        run(paper("new", 0.12), tied(0)),
    ];
    let new = vec![
        run(paper("new", 0.12), thread("other")),
        run(paper("new", 0.12), thread("another")),
        run(paper("newer", 0.09), thread("other")),
    ];
    let mut plans: Vec<Plan> =
        [(one, State::Knocked), (mixed, State::KnockedPressed), (new, State::Sewn)]
            .into_iter()
            .map(|(runs, state)| Plan::new(runs, state).expect("a plan"))
            .collect();
    (plans[1].boned, plans[1].guards_mm, plans[1].hand) =
        (true, 0.35, (all.hands.len() > 1).then_some(0));
    plans[2].fore_edge = Some(Gaussian { mean: 9.0, sd: 0.05 });
    plans
}

/// The plan's swell for the slow side, without guards.
fn swell(plan: &Plan, all: &Observations) -> Linear {
    let hand = plan.hand.map_or("a hand never seen", |hand| all.hands[hand].as_str());
    let hand = (all.hands.len() > 1).then_some(hand);
    plan.runs().iter().fold(Linear::default(), |sum, run| {
        sum.add(1.0, &Block::of_run(run, plan, hand).swell(plan.state, "the plan", "the plan"))
    })
}

/// Mean and variance of the plan's fore-edge, run by run.
fn fore_edge(plan: &Plan, book: &Book) -> (f64, f64) {
    if let Some(measured) = plan.fore_edge {
        return (measured.mean, measured.sd.powi(2));
    }
    plan.runs().iter().fold((0.0, 0.0), |(mean, variance), run| {
        let nominal = Block::of_run(run, plan, None).nominal_fore_edge();
        let (ratio, known_to) = dense::fore_edge_ratio(book, run.paper.name.as_str());
        (mean + ratio * nominal, variance + nominal * nominal * (known_to + 0.02 * 0.02))
    })
}

/// One book with everything that is asked of it.
struct Case {
    book: Book,
    all: Observations,
    fit: SwellFit,
    plans: Vec<Plan>,
    slow: Conditioned,
}

impl Case {
    fn new(seed: u64, size: Size) -> Self {
        let resolution = if seed.is_multiple_of(2) { 0.01 } else { 0.02 };
        let resolution = Millimetres::new(resolution).expect("a length");
        let config = Config { resolution, ..Config::default() };
        let (_dir, book) = on_disk(&config, entries(seed, size));
        let all = observe(&book).expect("a made-up book can be observed");
        let fit = SwellFit::new(&all, &Beliefs::default()).expect("and fitted");
        let plans = plans(&mut Random::new(1000 + seed), &all);
        let papers = all.papers.iter();
        let factors = papers.flat_map(|paper| {
            BOTH.map(|state| dense::paper_factor(paper.name.as_str(), paper.hardness, state))
        });
        let asked: Vec<Linear> = (plans.iter().map(|plan| swell(plan, &all)))
            .chain(COEFFICIENTS.map(|(name, ..)| Linear::coefficient(name)))
            .chain(factors)
            .chain(all.threads.iter().map(|thread| Linear::thread(thread.name.as_str())))
            .collect();
        let spreads = if dense::hands(&book) > 1 { 6 } else { 5 };
        let slow = Conditioned::new(&dense::observations(&book), &asked, spreads);
        Self { book, all, fit, plans, slow }
    }

    /// The spreads at the engine's mode.
    fn mode(&self) -> [f64; 6] {
        let mut mode = [0.0; 6];
        for (spread, _, at) in self.fit.spreads() {
            mode[SPREADS.iter().position(|(name, _)| *name == spread.name()).unwrap()] = at;
        }
        mode
    }

    fn compare(&self, draws: &Draws) -> Found {
        let mut found = Found::default();
        let slow = |question| Slow { draws, parts: draws.of_question(question) };
        let mut question = 0;
        for (number, plan) in self.plans.iter().enumerate() {
            let mut slow = slow(question);
            slow.parts.iter_mut().for_each(|part| part.0 += plan.guards_mm);
            let what = format!("plan {number}");
            compare_plan(
                &mut found,
                &what,
                &self.fit.predict(plan),
                &slow,
                fore_edge(plan, &self.book),
            );
            question += 1;
        }
        let coefficients = self.fit.coefficients().into_iter().map(|entry| entry.1);
        let factors = self.fit.factors(&BOTH).into_iter().flatten();
        let summaries = coefficients.chain(factors).chain(self.fit.thread_effects());
        for summary in summaries {
            compare_summary(&mut found, &format!("question {question}"), &summary, &slow(question));
            question += 1;
        }
        for (spread, summary, _) in self.fit.spreads() {
            let k = SPREADS.iter().position(|(name, _)| *name == spread.name()).unwrap();
            compare_spread(&mut found, spread.name(), &summary, &draws.of_spread(k), draws);
        }
        found
    }

    /// Everything about one book, over the draws; what was found as a line of figures.
    fn check(&self, seed: u64, count: usize) -> Found {
        let start = Instant::now();
        let draws = self.slow.draws(seed, count);
        let mut found = self.compare(&draws);
        let rows = self.all.rows.len();
        let line = &mut found.lines;
        let _ =
            write!(line, "book {seed}: {} papers, {rows} observations; ", self.all.papers.len());
        let _ = write!(
            line,
            "effective draws {:.0} of {}, ",
            self.fit.record().effective_draws,
            self.fit.record().draws
        );
        let _ = write!(line, "slow {:.0} of {count};", draws.effective());
        for ((kind, _), worst) in KINDS.iter().zip(found.worst) {
            let _ = write!(line, " {kind} {worst:.4}");
        }
        let _ = write!(line, "; {:.2} s", start.elapsed().as_secs_f64());
        found
    }
}

#[test]
fn the_engine_agrees_with_the_dense_model_over_the_spreads() {
    let found: Vec<Found> = std::thread::scope(|scope| {
        let one =
            |(seed, size, count)| scope.spawn(move || Case::new(seed, size).check(seed, count));
        let running: Vec<_> = books().into_iter().map(one).collect();
        running.into_iter().map(|thread| thread.join().expect("a book is checked")).collect()
    });
    let mut failures = String::new();
    for one in &found {
        println!("{}", one.lines);
        for failure in &one.failures {
            let _ = writeln!(failures, "{} | {failure}", one.lines.split(';').next().unwrap());
        }
    }
    assert!(failures.is_empty(), "\n{failures}");
}

#[test]
fn with_the_spreads_given_there_is_nothing_but_algebra_between_the_two() {
    for (seed, size, _) in books() {
        let case = Case::new(seed, size);
        let known = case.slow.at(&case.mode());
        let ours = case.fit.mode_log_likelihood();
        assert!((ours - known.log_likelihood).abs() < ALGEBRA * (1.0 + ours.abs()), "book {seed}");
        for (plan, (mean, variance)) in case.plans.iter().zip(known.answers) {
            let ours = case.fit.predict_at_mode(plan);
            let mean = mean + plan.guards_mm;
            let close =
                (ours.mean - mean).abs() < ALGEBRA && (ours.sd - variance.sqrt()).abs() < ALGEBRA;
            assert!(close, "book {seed}: {ours:?} against {mean} {}", variance.sqrt());
        }
    }
}

/// The dense posterior of the spreads is nowhere higher nearby than at the engine's mode.
#[test]
fn the_mode_is_a_mode() {
    for (seed, size, _) in books() {
        let case = Case::new(seed, size);
        let mode = case.mode();
        let top = case.slow.log_posterior(&mode);
        for (k, (name, scale)) in SPREADS.iter().enumerate().take(case.fit.spreads().len()) {
            for step in [-0.05, 0.05] {
                let mut beside = mode;
                beside[k] = (mode[k] + step * scale).abs();
                assert!(case.slow.log_posterior(&beside) <= top + 1e-6, "book {seed}: {name}");
            }
        }
    }
}
