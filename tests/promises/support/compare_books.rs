//! Books drawn from the beliefs themselves, for promises about odds: in them the beliefs are true.
//! No bindery ever sewed them.

use crate::support::random_books::{Random, mm, name};
use std::array::from_fn;
use swellbook::book::Entries;
use swellbook::trade::{Hardness, Paper, Reading, Sewing, State, Thread, Trial};

/// The model's beliefs by docs/model.md: mean and sd of the coefficients factor, hard, soft,
/// knocked, depth, fold, fold_knocked.
const COEFFICIENTS: [(f64, f64); 7] = [
    (0.60, 0.15),
    (0.04, 0.08),
    (-0.04, 0.08),
    (-0.10, 0.08),
    (-0.05, 0.10),
    (0.020, 0.020),
    (-0.005, 0.010),
];
/// Scales of the half-normal beliefs about paper, paper_knocked, thread, sewing, stage.
const SCALES: [f64; 5] = [0.08, 0.05, 0.05, 0.06, 0.03];
/// Standard deviation of one reading.
const READING: f64 = 0.05;
const PLACES: [&str; 3] = ["head", "middle", "tail"];

/// The truth about one bindery.
struct Bindery {
    coefficients: [f64; 7],
    spreads: [f64; 5],
    papers: Vec<[f64; 3]>,
    threads: Vec<f64>,
}

impl Bindery {
    fn draw(random: &mut Random, papers: usize, threads: usize) -> Self {
        let coefficients = COEFFICIENTS.map(|(mean, sd)| mean + sd * random.normal());
        let spreads = SCALES.map(|scale| (scale * random.normal()).abs());
        let sds = [spreads[0], spreads[1], 0.010];
        Self {
            coefficients,
            spreads,
            papers: (0..papers).map(|_| from_fn(|k| sds[k] * random.normal())).collect(),
            threads: (0..threads).map(|_| spreads[2] * random.normal()).collect(),
        }
    }
}

/// A book of `trials` blocks measured at three places as sewn and knocked down, with everything
/// drawn from the beliefs.
pub fn believed(seed: u64, papers: usize, threads: usize, trials: usize) -> Entries {
    let random = &mut Random::new(seed);
    let bindery = Bindery::draw(random, papers, threads);
    let hardness = [Hardness::Medium, Hardness::Hard, Hardness::Soft];
    let paper = |at: usize| {
        let caliper = mm(0.09 + 0.02 * at as f64);
        Paper::new(name(&format!("paper{at}")), caliper, hardness[at % 3]).expect("a paper")
    };
    let thread = |at: usize| {
        let laid = Some(mm(0.40 + 0.08 * at as f64));
        Thread::new(name(&format!("thread{at}")), Default::default(), None, laid).expect("a thread")
    };
    let mut made = Entries {
        papers: (0..papers).map(paper).collect(),
        threads: (0..threads).map(thread).collect(),
        ..Entries::default()
    };
    for at in 0..trials {
        sew(random, &bindery, &mut made, at);
    }
    made
}

fn sew(random: &mut Random, bindery: &Bindery, made: &mut Entries, at: usize) {
    let (paper, thread) = (at % made.papers.len(), at / made.papers.len() % made.threads.len());
    let (sections, sheets) = (random.whole(8, 12), random.whole(3, 5));
    let sewing = Sewing::new(sections, sheets, 1, 0).expect("a sewing");
    let trial = Trial {
        name: name(&format!("trial{at:02}")),
        date: None,
        kind: Default::default(),
        paper: made.papers[paper].name.clone(),
        thread: made.threads[thread].name.clone(),
        sewing,
        boned: false,
        guards: mm(0.0),
        hand: None,
        note: String::new(),
    };
    let (caliper, laid) = (made.papers[paper].caliper().mm(), made.threads[thread].diameter().mm());
    let [factor, hard, soft, knocked, depth, fold, fold_knocked] = bindery.coefficients;
    let [own, own_knocked, own_fold] = bindery.papers[paper];
    let hardness = [0.0, hard, soft][paper % 3];
    let deep = (f64::from(sheets) * caliper / laid).ln() - 0.85_f64.ln();
    let sewn = factor + hardness + depth * deep + own + bindery.threads[thread];
    let sewn = sewn + bindery.spreads[3] * random.normal();
    let leaves = caliper * f64::from(sewing.leaves()) * (1.04 + 0.02 * random.normal());
    for state in [State::Sewn, State::Knocked] {
        let k = if state.is_knocked() { 1.0 } else { 0.0 };
        let bracket = sewn + k * (knocked + own_knocked) + bindery.spreads[4] * random.normal();
        let folds = fold + own_fold + k * fold_knocked;
        let swell = f64::from(sections) * (folds + laid * bracket);
        for place in PLACES {
            let mut read = |thickness: f64| {
                Some(mm(((thickness + READING * random.normal()) * 100.0).round() / 100.0))
            };
            let (spine, fore_edge) = (read(leaves + swell), read(leaves));
            let reading = Reading::new(trial.name.clone(), state, name(place), spine, fore_edge);
            made.readings.push(reading.expect("a reading"));
        }
    }
    made.trials.push(trial);
}
