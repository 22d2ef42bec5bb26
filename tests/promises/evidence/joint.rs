//! Benches that differ only in their factor, fitted together from all their readings. A pool of
//! their summaries must agree with that fit. The benches are simulated; no bindery sewed them.

use crate::support::random_books::Random;
use crate::support::simulated::{Extent, Truth, World};
use swellbook::book::Config;
use swellbook::model::{Beliefs, BenchLikelihood, Coefficient, Gaussian, Pooling, SwellFit, pool};
use swellbook::observe::{Joined, Observations, Weighing, observe_entries};

/// How far the factors of the benches are from 0.60: mean 0, standard deviation 0.05.
const BENCHES: [f64; 7] = [-0.07, -0.05, -0.02, 0.0, 0.02, 0.05, 0.07];
const EXTENT: Extent = Extent { papers: 3, trials_each: 3 };

/// The benches, the truth about them, and the estimates of their joint fit.
pub struct Joint {
    /// The observations of each bench.
    pub benches: Vec<Observations>,
    /// The true coefficients that all benches share, with the average factor.
    pub truth: [f64; Coefficient::ALL.len()],
    /// The estimates of these coefficients.
    pub coefficients: Vec<Gaussian>,
    /// The estimate of the factor of each bench, relative to the average one.
    pub effects: Vec<Gaussian>,
}

impl Joint {
    pub fn fitted() -> Self {
        let sewn = BENCHES.iter().zip(0..).map(|(&effect, seed)| bench(effect, seed));
        let (truths, benches): (Vec<Truth>, Vec<Observations>) = sewn.unzip();
        let labels: Vec<String> = (0..benches.len()).map(|at| format!("bench {at}")).collect();
        let first = Joined::new(&labels[0], &benches[0]);
        let others = labels.iter().zip(&benches).skip(1);
        let all = others.fold(first, |all, (label, bench)| all.with(label, bench)).observations;
        let fit = SwellFit::new(&all, &Beliefs::default()).expect("a fit");
        let of = |mean, sd| Gaussian { mean, sd };
        let coefficients = fit.coefficients();
        let middle = BENCHES.iter().position(|&effect| effect == 0.0).expect("an average bench");
        Self {
            truth: Coefficient::ALL.map(|name| truths[middle].coefficient(name)),
            coefficients: coefficients.iter().map(|(_, it)| of(it.mean(), it.sd())).collect(),
            effects: fit.hand_effects(&all).iter().map(|it| of(it.mean, it.sd)).collect(),
            benches,
        }
    }
}

/// A bench whose factor differs by `effect`. All benches have the same coefficients and spreads;
/// the papers, threads and sewings are its own.
fn bench(effect: f64, seed: u64) -> (Truth, Observations) {
    let beliefs = Beliefs::default();
    let out = effect / beliefs.coefficient(Coefficient::Factor).sd;
    let world = World { factor_out: Some(out), at_scale: true, ..World::default() };
    let mut truth = Truth::draw(&mut Random::new(1), EXTENT, world);
    let own = &mut Random::new(100 + seed);
    truth.papers = (0..EXTENT.papers).map(|at| truth.any_paper(own, &format!("p{at}"))).collect();
    truth.threads = (0..2).map(|at| truth.any_thread(own, &format!("t{at}"))).collect();
    let (entries, _) = truth.entries(own, EXTENT.trials_each);
    let resolution = Config::default().resolution;
    let all = observe_entries(&entries, resolution, Weighing::Judged).expect("observations");
    (truth, all)
}

/// All benches together know every coefficient better than one alone, and their estimates are true.
#[test]
fn benches_fitted_together_find_what_they_share_and_how_they_differ() {
    let joint = Joint::fitted();
    let alone = SwellFit::new(&joint.benches[0], &Beliefs::default()).expect("a fit");
    let each = Coefficient::ALL.iter().zip(&joint.coefficients).zip(&joint.truth);
    let mut out = Vec::new();
    for ((name, known), truth) in each {
        let (_, one) = &alone.coefficients()[*name as usize];
        let z = (known.mean - truth) / known.sd;
        println!(
            "{name:?}: {truth:.3}, {:.3} ± {:.3} ({z:+.1}), alone ± {:.3}",
            known.mean,
            known.sd,
            one.sd()
        );
        assert!(known.sd < one.sd(), "{name:?}: {} {}", known.sd, one.sd());
        out.push(z);
    }
    for (known, truth) in joint.effects.iter().zip(BENCHES) {
        println!("{truth:+.2}: {:+.3} ± {:.3}", known.mean, known.sd);
        out.push((known.mean - truth) / known.sd);
    }
    // Of 18 sound figures, the largest is beyond 3.5 deviations once in a hundred worlds.
    assert!(out.iter().all(|z| z.abs() < 3.5), "{out:?}");
    let [low, high] = [0, BENCHES.len() - 1].map(|at| joint.effects[at].mean);
    assert!(low < high, "{low} {high}");
}

/// A pool of the summaries agrees with a fit of all readings. Their assumptions differ: in the
/// joint fit only the factors of benches differ, in a pool everything may. The means of the pool
/// are therefore less certain.
#[test]
fn a_pool_of_summaries_says_what_a_fit_of_all_readings_says() {
    let joint = Joint::fitted();
    let beliefs = Beliefs::default();
    let learnt = |bench: &Observations| {
        let fit = SwellFit::new(bench, &beliefs).expect("a fit");
        BenchLikelihood::of(&fit, &beliefs).expect("a summary")
    };
    let summaries: Vec<BenchLikelihood> = joint.benches.iter().map(learnt).collect();
    let found = pool(&summaries, Pooling::Regularised).expect("a pool");
    let mut apart = Vec::new();
    for (name, known) in Coefficient::ALL.into_iter().zip(&joint.coefficients) {
        let at = name as usize;
        let (mean, sd) = (found.pooled.means[at], found.uncertainty[at][at].sqrt());
        let z = (mean - known.mean) / known.sd;
        println!(
            "{name:?}: joint {:.3} ± {:.3}, pool {mean:.3} ± {sd:.3} ({z:+.2})",
            known.mean, known.sd
        );
        apart.push(z);
    }
    let between = found.pooled.between[0][0].sqrt();
    let typical = (apart.iter().map(|z| z * z).sum::<f64>() / apart.len() as f64).sqrt();
    println!("typically {typical:.2} standard deviations apart; factors differ by {between:.3}");
    assert!(typical < 0.7 && apart.iter().all(|z| z.abs() < 1.5), "{apart:?}");
    // The true factors differ by 0.05.
    assert!((0.03..0.08).contains(&between), "{between}");
}
