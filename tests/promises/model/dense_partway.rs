//! The engine agrees with the slow dense model on blocks that are sewn part-way. In the dense model
//! the part is one more observation, of a sewing that the finished book shares by its name.

use crate::model::brute_force::{MIXED, plans};
use crate::support::dense::{Block, Linear, Own, SPREADS, Spreads};
use crate::support::dense_compare::{Found, Moments, Slow, compare_plan};
use crate::support::dense_draws::Conditioned;
use crate::support::dense_readings::{
    Observed, fore_edge_ratio, hands, observations, repeatability,
};
use crate::support::random_books::{Random, Size, entries, on_disk};
use crate::support::worlds::{correlated_beliefs, correlations};
use std::collections::BTreeMap;
use swellbook::book::{Book, Config};
use swellbook::model::{Beliefs, Gaussian, PartReading, PartwayFit, Plan, Prediction, Run};
use swellbook::observe::{Observations, observe};
use swellbook::trade::{Sewing, State};

/// Given the spreads, only algebra is left.
const ALGEBRA: f64 = 1e-9;
/// Draws of the dense model, and of the book for which these would be too few.
const DRAWS: usize = 16_000;
const MORE_DRAWS: usize = 28_000;
const SPINES: f64 = 3.0;
const FORE_EDGES: f64 = 2.0;

/// The book of this seed has correlated beliefs about the coefficients.
const CORRELATED: u64 = 13;

/// Books by seed: without a trial, with one, with some, of two hands, and with correlated beliefs.
fn books() -> [(u64, Size); 5] {
    let of = |papers, threads, trials| Size { papers, threads, trials, hands: 1 };
    [
        (1, of((1, 1), (1, 1), (0, 0))),
        (2, of((1, 1), (1, 1), (1, 1))),
        (4, of((3, 5), (1, 3), (4, 6))),
        (5, Size { hands: 2, ..of((2, 3), (2, 2), (5, 8)) }),
        (CORRELATED, of((2, 3), (1, 2), (2, 4))),
    ]
}

/// A measured part of one plan of one book.
struct Case {
    book: Book,
    all: Observations,
    plan: Plan,
    part: PartReading,
    fit: PartwayFit,
    correlated: bool,
}

/// Each run with its number of sections among the first `sewn`.
fn begun(plan: &Plan, sewn: u32) -> Vec<(&Run, u16)> {
    let mut to_go = sewn as u16;
    let mut found = Vec::new();
    for run in plan.runs() {
        let here = to_go.min(run.sewing.sections());
        to_go -= here;
        found.push((run, here));
    }
    found
}

impl Case {
    fn new(seed: u64, size: Size, number: usize) -> Self {
        let (_dir, book) = on_disk(&Config::default(), entries(seed, size));
        let all = observe(&book).expect("a made-up book can be observed");
        let plan = plans(&mut Random::new(2000 + seed), &all).remove(number);
        let random = &mut Random::new(3000 + 10 * seed + number as u64);
        let sewn = u32::from(random.whole(1, plan.sections() as u16 - 1));
        let state = *random.pick(&[State::Sewn, State::Pressed, State::Knocked]);
        let (s2, shown) = (repeatability(&book), book.config().resolution.mm());
        let sd = |readings: f64| (s2 / readings + shown * shown / 12.0).sqrt();
        let leaves = |run: &Run, sections: u16| {
            2.0 * f64::from(run.sewing.sheets()) * f64::from(sections) * run.paper.caliper_mm
        };
        let nominal: f64 = begun(&plan, sewn).iter().map(|(run, q)| leaves(run, *q)).sum();
        let fore_edge = Gaussian { mean: nominal * random.between(0.98, 1.1), sd: sd(FORE_EDGES) };
        let swell = f64::from(sewn as u16) * random.between(0.1, 0.3);
        let spine = Gaussian { mean: fore_edge.mean + swell, sd: sd(SPINES) };
        let part = PartReading { sewn, state, spine, fore_edge };
        let correlated = seed == CORRELATED;
        let beliefs = if correlated { correlated_beliefs() } else { Beliefs::default() };
        let fit = PartwayFit::new(&all, &beliefs, &plan, &part).expect("a fit");
        Self { book, all, plan, part, fit, correlated }
    }

    fn hand(&self) -> Option<&str> {
        let hand = self.plan.hand.map_or("a hand never seen", |hand| &self.all.hands[hand]);
        (self.all.hands.len() > 1).then_some(hand)
    }

    fn swell(&self, plan: &Plan, sewing: &str) -> Linear {
        plan.runs().iter().fold(Linear::default(), |sum, run| {
            let block = Block::of_run(run, plan.sections(), self.hand());
            let own = Own { sewing, ..Own::all("the finished book") };
            sum.add(1.0, &block.swell(plan.state, own))
        })
    }

    /// The part as an observation of the dense model.
    fn observed(&self) -> Observed {
        let runs = begun(&self.plan, self.part.sewn).into_iter();
        let expected = runs.fold(Linear::default(), |sum, (run, q)| {
            let block = Block::of_run(run, self.part.sewn, self.hand());
            let own = Own { sewing: "the book", ..Own::all("the part") };
            sum.add(1.0, &block.swell_begun(q, self.part.state, own))
        });
        let shown = self.book.config().resolution.mm();
        let places = 1.0 / SPINES + 1.0 / FORE_EDGES;
        let share = f64::from(self.part.sewn) / f64::from(self.plan.sections());
        Observed {
            swell: self.part.spine.mean - self.part.fore_edge.mean - share * self.plan.guards_mm,
            noise: repeatability(&self.book) * places + 2.0 * shown * shown / 12.0,
            expected,
        }
    }

    /// The finished book as planned, as a new sewing, and with its last run sewn differently.
    fn asked(&self) -> [(Plan, &'static str); 3] {
        let admitted = self.fit.plan().clone();
        let mut runs = admitted.runs().to_vec();
        if let Some(last) = runs.last_mut() {
            let (sections, sheets) = (last.sewing.sections(), last.sewing.sheets());
            last.sewing = Sewing::new(sections, sheets, 2, 1).expect("a sewing");
            last.boned = !last.boned;
        }
        let changed = admitted.with_runs(runs).expect("a plan");
        [(admitted.clone(), "the book"), (admitted, "another book"), (changed, "the book")]
    }

    fn slow(&self) -> Conditioned {
        let mut observed = observations(&self.book);
        observed.push(self.observed());
        let asked = self.asked().map(|(plan, sewing)| self.swell(&plan, sewing));
        let spreads = if hands(&self.book) > 1 { 7 } else { 6 };
        Conditioned::believing(&correlations(self.correlated), &observed, &asked, spreads)
    }

    fn mode(&self) -> Spreads {
        let mut mode = [0.0; SPREADS.len()];
        for (spread, _, at) in self.fit.fit().spreads() {
            mode[SPREADS.iter().position(|(name, _)| *name == spread.name()).unwrap()] = at;
        }
        mode
    }

    fn predictions(&self) -> [Prediction; 3] {
        let [(planned, _), (again, _), (changed, _)] = self.asked();
        let mut both = self.fit.predict_each(&[planned, changed]).into_iter();
        let mut next = || both.next().expect("one for each");
        let first = next();
        [first, self.fit.predict_anew(&again), next()]
    }

    /// Mean and variance of F. The ratios of the block's papers are solved from their precisions.
    fn fore_edge(&self, plan: &Plan, is_begun: bool) -> Moments {
        if let Some(measured) = plan.fore_edge {
            return Moments { mean: measured.mean, variance: measured.sd.powi(2) };
        }
        let mut leaves: BTreeMap<&str, [f64; 2]> = BTreeMap::new();
        for ((run, q), whole) in begun(&self.plan, self.part.sewn).into_iter().zip(plan.runs()) {
            let of = leaves.entry(run.paper.name.as_str()).or_default();
            let each = 2.0 * f64::from(run.sewing.sheets()) * run.paper.caliper_mm;
            of[0] += each * f64::from(q);
            of[1] += each * f64::from(whole.sewing.sections());
        }
        let priors = leaves.keys().map(|paper| fore_edge_ratio(&self.book, paper));
        let priors: Vec<(f64, f64)> = priors.map(|(m, v)| (m, v + 0.02 * 0.02)).collect();
        let (a, b): (Vec<f64>, Vec<f64>) = leaves.values().map(|[a, b]| (a, b)).unzip();
        let noise = if is_begun { self.part.fore_edge.sd.powi(2) } else { f64::INFINITY };
        let n = a.len();
        let precision =
            |i: usize, j: usize| a[i] * a[j] / noise + if i == j { 1.0 / priors[i].1 } else { 0.0 };
        let matrix: Vec<Vec<f64>> =
            (0..n).map(|i| (0..n).map(|j| precision(i, j)).collect()).collect();
        let right: Vec<f64> = (0..n)
            .map(|i| priors[i].0 / priors[i].1 + a[i] * self.part.fore_edge.mean / noise)
            .collect();
        let dot = |x: &[f64]| x.iter().zip(&b).map(|(x, b)| x * b).sum::<f64>();
        Moments { mean: dot(&solved(&matrix, &right)), variance: dot(&solved(&matrix, &b)) }
    }
}

/// Gauss-Jordan elimination for a positive definite matrix.
fn solved(matrix: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut rows: Vec<Vec<f64>> = matrix.to_vec();
    rows.iter_mut().zip(right).for_each(|(row, value)| row.push(*value));
    for pivot in 0..rows.len() {
        let by = rows[pivot][pivot];
        rows[pivot].iter_mut().for_each(|value| *value /= by);
        let chosen = rows[pivot].clone();
        for (at, row) in rows.iter_mut().enumerate() {
            let times = row[pivot];
            if at != pivot {
                row.iter_mut().zip(&chosen).for_each(|(value, own)| *value -= times * own);
            }
        }
    }
    rows.into_iter().filter_map(|mut row| row.pop()).collect()
}

fn cases() -> Vec<(String, Case)> {
    let of = |(seed, size)| {
        (0..3).map(move |plan| (format!("book {seed}, plan {plan}"), Case::new(seed, size, plan)))
    };
    books().into_iter().flat_map(of).collect()
}

#[test]
fn with_the_spreads_given_the_part_is_one_more_observation() {
    let cases = cases();
    assert!(cases[MIXED].1.plan.runs().len() > 1);
    for (what, case) in cases {
        let known = case.slow().at(&case.mode());
        let ours = case.fit.fit().mode_log_likelihood();
        let close = (ours - known.log_likelihood).abs() < ALGEBRA * (1.0 + ours.abs());
        assert!(close, "{what}: {ours} against {}", known.log_likelihood);
        for place in [0, 2] {
            let (mean, variance) = known.answers[place];
            let ours = case.fit.fit().predict_at_mode(&case.asked()[place].0);
            let off = [ours.mean - mean - case.plan.guards_mm, ours.sd - variance.sqrt()];
            assert!(off.iter().all(|off| off.abs() < ALGEBRA), "{what}: {off:?}");
        }
    }
}

#[test]
fn over_the_spreads_a_part_way_answer_agrees_with_the_dense_model() {
    let failures: Vec<String> = std::thread::scope(|scope| {
        let running: Vec<_> = cases()
            .into_iter()
            .map(|(what, case)| scope.spawn(move || compared(&what, &case)))
            .collect();
        running.into_iter().flat_map(|one| one.join().expect("a book is checked")).collect()
    });
    assert!(failures.is_empty(), "\n{}", failures.join("\n"));
}

fn compared(what: &str, case: &Case) -> Vec<String> {
    let draws = case.slow().draws(7, if case.correlated { MORE_DRAWS } else { DRAWS });
    let mut found = Found::default();
    for (place, ours) in case.predictions().iter().enumerate() {
        let mut slow = Slow { draws: &draws, parts: draws.of_question(place) };
        slow.parts.iter_mut().for_each(|part| part.0 += case.plan.guards_mm);
        let edge = case.fore_edge(&case.asked()[place].0, place != 1);
        compare_plan(&mut found, &format!("{what}, question {place}"), ours, &slow, edge);
    }
    found.failures
}
