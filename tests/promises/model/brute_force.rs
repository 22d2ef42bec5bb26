//! The engine agrees with the slow dense model on random books.

use crate::support::dense::{Block, COEFFICIENTS, Linear, Own, SPREADS, Spreads, paper_factor};
use crate::support::dense_compare::{
    Found, Kind, Moments, Slow, compare_plan, compare_spread, compare_summary,
};
use crate::support::dense_draws::{Conditioned, Draws};
use crate::support::dense_readings::{fore_edge_ratio, hands, observations};
use crate::support::random_books::{
    Random, Size, any_sewing, entries, name, on_disk, tried_paper, tried_thread, untried_paper,
};
use crate::support::worlds::{correlated_beliefs, correlations};
use std::fmt::Write as _;
use std::time::Instant;
use swellbook::book::{Book, Config};
use swellbook::model::{Beliefs, Effects, Gaussian, Plan, PlannedThread, Run, SwellFit};
use swellbook::observe::{Observations, PaperLevel, observe};
use swellbook::trade::{Hardness, State};
use swellbook::units::Millimetres;

/// Given the spreads, only algebra is left: what two orders of solving may differ by.
const ALGEBRA: f64 = 1e-9;
/// The plan whose budget is checked.
pub const MIXED: usize = 1;
/// The sources of uncertainty in a plan's swell in mm, by their names in docs/model.md.
const SOURCES: [&str; 8] =
    ["coefficients", "paper", "thread", "hand", "sewing", "stage", "knocking", "fold"];
const BOTH: [State; 2] = [State::Sewn, State::Knocked];

/// From this seed on, the beliefs about the coefficients are correlated.
const CORRELATED: u64 = 10;

/// Books by seed, with their draws: from one without trials to five papers and twelve trials, some
/// of two hands.
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
        (10, of((1, 1), (1, 1), (0, 0)), 16_000),
        (11, of((1, 2), (1, 2), (2, 4)), 24_000),
        (12, Size { hands: 2, ..of((2, 3), (2, 2), (5, 8)) }, 24_000),
    ]
}

/// Plans of one paper and of several, in the book and new, with one run and more.
pub fn plans(random: &mut Random, all: &Observations) -> Vec<Plan> {
    let known = |level| tried_paper(all, level);
    let threads = all.threads.len();
    let tied = |level| tried_thread(all, level);
    let paper = |called, caliper_mm| untried_paper(called, caliper_mm, Hardness::Soft);
    let thread = |called| PlannedThread { name: name(called), level: None, diameter_mm: 0.52 };
    let mut run = |paper, thread| Run {
        paper,
        thread,
        sewing: any_sewing(random),
        boned: random.chance(0.5),
    };
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
    (plans[1].guards_mm, plans[1].hand) = (0.35, (all.hands.len() > 1).then_some(0));
    plans[2].fore_edge = Some(Gaussian { mean: 9.0, sd: 0.05 });
    plans
}

/// The plan's swell in the dense model, without guards.
fn swell(plan: &Plan, all: &Observations) -> Linear {
    let hand = plan.hand.map_or("a hand never seen", |hand| all.hands[hand].as_str());
    let hand = (all.hands.len() > 1).then_some(hand);
    plan.runs().iter().fold(Linear::default(), |sum, run| {
        sum.add(
            1.0,
            &Block::of_run(run, plan.sections(), hand).swell(plan.state, Own::all("the plan")),
        )
    })
}

/// The part of a swell from one source, and that part plus the swell. The variances of the part,
/// the swell and their sum give the covariance of part and swell.
fn in_budget(swell: &Linear, source: &str) -> [Linear; 2] {
    let part = swell.of_source(source);
    [part.clone(), part.add(1.0, swell)]
}

/// Mean and variance of the plan's fore-edge, paper by paper. A paper has one ratio for the whole
/// block, in however many runs its sections are sewn.
fn fore_edge(plan: &Plan, book: &Book) -> Moments {
    if let Some(measured) = plan.fore_edge {
        return Moments { mean: measured.mean, variance: measured.sd.powi(2) };
    }
    let mut nominal = std::collections::BTreeMap::new();
    for run in plan.runs() {
        *nominal.entry(run.paper.name.as_str()).or_insert(0.0) +=
            Block::of_run(run, plan.sections(), None).nominal_fore_edge();
    }
    let mut edge = Moments { mean: 0.0, variance: 0.0 };
    for (paper, nominal) in nominal {
        let (ratio, known_to) = fore_edge_ratio(book, paper);
        edge.mean += ratio * nominal;
        edge.variance += nominal * nominal * (known_to + 0.02 * 0.02);
    }
    edge
}

/// One book with everything that is compared.
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
        let correlated = seed >= CORRELATED;
        let beliefs = if correlated { correlated_beliefs() } else { Beliefs::default() };
        let fit = SwellFit::new(&all, &beliefs).expect("and fitted");
        let plans = plans(&mut Random::new(1000 + seed), &all);
        let factor =
            |paper: &PaperLevel, state| paper_factor(paper.name.as_str(), paper.hardness, state);
        let factors = all.papers.iter().flat_map(|paper| BOTH.map(|state| factor(paper, state)));
        let knocked_out = all
            .papers
            .iter()
            .map(|paper| factor(paper, State::Sewn).add(-1.0, &factor(paper, State::Knocked)));
        let mixed = swell(&plans[MIXED], &all);
        let asked: Vec<Linear> = (plans.iter().map(|plan| swell(plan, &all)))
            .chain(SOURCES.iter().flat_map(|source| in_budget(&mixed, source)))
            .chain(COEFFICIENTS.map(|(name, ..)| Linear::coefficient(name)))
            .chain(factors)
            .chain(knocked_out)
            .chain(all.threads.iter().map(|thread| Linear::thread(thread.name.as_str())))
            .collect();
        let spreads = if hands(&book) > 1 { 7 } else { 6 };
        let correlations = correlations(correlated);
        let slow = Conditioned::believing(&correlations, &observations(&book), &asked, spreads);
        Self { book, all, fit, plans, slow }
    }

    /// The spreads at the engine's mode.
    fn mode(&self) -> Spreads {
        let mut mode = [0.0; SPREADS.len()];
        for (spread, _, at) in self.fit.spreads() {
            mode[SPREADS.iter().position(|(name, _)| *name == spread.name()).unwrap()] = at;
        }
        mode
    }

    fn compare(&self, draws: &Draws) -> Found {
        let mut found = Found::default();
        let slow = |question| Slow { draws, parts: draws.of_question(question) };
        for (number, plan) in self.plans.iter().enumerate() {
            let (mut slow, edge) = (slow(number), fore_edge(plan, &self.book));
            slow.parts.iter_mut().for_each(|part| part.0 += plan.guards_mm);
            compare_plan(
                &mut found,
                &format!("plan {number}"),
                &self.fit.predict(plan),
                &slow,
                edge,
            );
        }
        self.compare_budget(&mut found, draws);
        let Effects { coefficients, factors, knocked_out, threads } = self.fit.effects(&BOTH);
        let coefficients = coefficients.into_iter().map(|entry| entry.1);
        let factors = factors.into_iter().flatten();
        let summaries = coefficients.chain(factors).chain(knocked_out).chain(threads);
        let first = self.plans.len() + 2 * SOURCES.len();
        for (question, summary) in (first..).zip(summaries) {
            compare_summary(&mut found, &format!("question {question}"), &summary, &slow(question));
        }
        for (spread, summary, _) in self.fit.spreads() {
            let k = SPREADS.iter().position(|(name, _)| *name == spread.name()).unwrap();
            compare_spread(&mut found, spread.name(), &summary, &draws.of_spread(k), draws);
        }
        found
    }

    /// Each source's covariance with the swell, as a share of the variance of W/F to first order:
    /// `var W + (W·s_F/F)²`, all over F².
    fn compare_budget(&self, found: &mut Found, draws: &Draws) {
        let plan = &self.plans[MIXED];
        let whole = draws.of_question(MIXED);
        let slow = Slow { draws, parts: whole.clone() };
        let (mean, edge) = (slow.mean().0, fore_edge(plan, &self.book));
        let of_fore_edge = ((mean + plan.guards_mm) / edge.mean).powi(2) * edge.variance;
        let total = slow.sd().powi(2) + of_fore_edge;
        let mut theirs = vec![("fore_edge", (of_fore_edge / total, 0.0))];
        for (number, source) in SOURCES.into_iter().enumerate() {
            let part = draws.of_question(self.plans.len() + 2 * number);
            let both = draws.of_question(self.plans.len() + 2 * number + 1);
            let centre = Slow { draws, parts: part.clone() }.mean().0;
            let one = |i: usize| {
                let within = 0.5 * (both[i].1 - part[i].1 - whole[i].1);
                within + (part[i].0 - centre) * (whole[i].0 - mean)
            };
            let values: Vec<f64> = (0..whole.len()).map(one).collect();
            let (covariance, error) = draws.average(&values);
            theirs.push((source, (covariance / total, error / total)));
        }
        let ours = self.fit.budget(plan, &self.fit.predict(plan));
        for (source, share) in theirs {
            let line = ours.iter().find(|line| serde_json::json!(line.source) == source);
            let ours = line.map_or(0.0, |line| line.share);
            found.compare(&format!("share of {source}"), Kind::Share, ours, share, 1.0);
        }
    }

    /// Compares everything about one book over the draws. Returns the findings and a line of
    /// figures.
    fn check(&self, seed: u64, count: usize) -> (Found, String) {
        let start = Instant::now();
        let draws = self.slow.draws(seed, count);
        let found = self.compare(&draws);
        let (papers, rows, record) =
            (self.all.papers.len(), self.all.rows.len(), self.fit.record());
        let mut line =
            format!("book {seed}: {papers} papers, {rows} observations; effective draws ");
        let _ = write!(line, "{:.0} of {}, ", record.effective_draws, record.draws);
        let _ = write!(line, "slow {:.0} of {count};", draws.effective());
        for (kind, worst) in Kind::ALL.iter().zip(found.worst) {
            let _ = write!(line, " {kind:?} {worst:.4}");
        }
        let _ = write!(line, "; {:.2} s", start.elapsed().as_secs_f64());
        (found, line)
    }
}

#[test]
fn the_engine_agrees_with_the_dense_model_over_the_spreads() {
    let found: Vec<(Found, String)> = std::thread::scope(|scope| {
        let one =
            |(seed, size, count)| scope.spawn(move || Case::new(seed, size).check(seed, count));
        let running: Vec<_> = books().into_iter().map(one).collect();
        running.into_iter().map(|thread| thread.join().expect("a book is checked")).collect()
    });
    let mut failures = String::new();
    for (one, line) in &found {
        println!("{line}");
        for failure in &one.failures {
            let _ = writeln!(failures, "{}: {failure}", line.split(':').next().unwrap());
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

/// Near the engine's mode, the dense posterior of the spreads is nowhere higher than at the mode.
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
