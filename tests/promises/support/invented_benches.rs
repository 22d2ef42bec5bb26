//! Summaries of invented benches, without books. Each observation is a row of its coefficients,
//! with normal noise of 0.09 of the thread's thickness.

use crate::support::random_books::Random;
use swellbook::model::{Beliefs, BenchLikelihood, COEFFICIENTS, Coefficient};

const NOISE: f64 = 0.09;

/// A number for each coefficient.
pub type Column = [f64; COEFFICIENTS];

/// Common practice's standard deviations.
pub fn sds() -> Column {
    let beliefs = Beliefs::default();
    Coefficient::ALL.map(|name| beliefs.coefficient(name).sd)
}

/// The true mean of all benches, drawn from common practice.
pub fn middle(random: &mut Random) -> Column {
    let (beliefs, sds) = (Beliefs::default(), sds());
    let share = (8.0_f64 / 9.0).sqrt();
    std::array::from_fn(|at| {
        beliefs.coefficient(Coefficient::ALL[at]).mean + share * sds[at] * random.normal()
    })
}

/// The coefficients of a bench. Benches differ by `factor` times what is believed.
pub fn own(middle: &Column, factor: f64, random: &mut Random) -> Column {
    let sds = sds();
    std::array::from_fn(|at| middle[at] + factor * sds[at] / 3.0 * random.normal())
}

/// The summary of a bench of four to thirty trials.
pub fn bench(own: &Column, random: &mut Random) -> BenchLikelihood {
    let yes = |is: bool| f64::from(u8::from(is));
    let mut learnt = BenchLikelihood::NOTHING;
    let hardness: Vec<u16> = (0..random.whole(1, 5)).map(|_| random.whole(0, 2)).collect();
    let (boned, knocked, pressed, two_on) =
        (random.chance(0.5), random.chance(0.8), random.chance(0.5), random.chance(0.4));
    for trial in 0..random.whole(4, 30) {
        let paper = hardness[usize::from(trial) % hardness.len()];
        let mut sewn = [0.0; COEFFICIENTS];
        sewn[Coefficient::Factor as usize] = 1.0;
        sewn[Coefficient::Hard as usize] = yes(paper == 0);
        sewn[Coefficient::Soft as usize] = yes(paper == 2);
        sewn[Coefficient::Boned as usize] = yes(boned && random.chance(0.5));
        sewn[Coefficient::Depth as usize] = 0.4 * random.normal();
        sewn[Coefficient::Length as usize] = random.between(0.4, 2.4).ln();
        sewn[Coefficient::TwoOn as usize] = yes(two_on && random.chance(0.5));
        sewn[Coefficient::Fold as usize] = random.between(0.3, 0.8).recip();
        let mut states = vec![sewn];
        if knocked {
            let mut state = sewn;
            state[Coefficient::Knocked as usize] = 1.0;
            state[Coefficient::FoldKnocked as usize] = sewn[Coefficient::Fold as usize];
            states.push(state);
        }
        if pressed {
            let mut state = sewn;
            state[Coefficient::Pressed as usize] = 1.0;
            states.push(state);
        }
        for row in states {
            let mean: f64 = row.iter().zip(own).map(|(x, c)| x * c).sum();
            observe(&mut learnt, &row, mean + NOISE * random.normal());
        }
    }
    learnt
}

fn observe(learnt: &mut BenchLikelihood, row: &Column, found: f64) {
    let precision = 1.0 / (NOISE * NOISE);
    for at in 0..COEFFICIENTS {
        for to in 0..COEFFICIENTS {
            learnt.information[at][to] += row[at] * row[to] * precision;
        }
        learnt.weighted[at] += row[at] * found * precision;
    }
}

/// A bench that claims to know every coefficient to be `at`, `sharpness` times as well as common
/// practice.
pub fn claims(at: &Column, sharpness: f64) -> BenchLikelihood {
    let mut learnt = BenchLikelihood::NOTHING;
    for (j, sd) in sds().into_iter().enumerate() {
        learnt.information[j][j] = (sharpness / sd).powi(2);
        learnt.weighted[j] = learnt.information[j][j] * at[j];
    }
    learnt
}

/// Benches that differ by `factor` times what is believed.
pub fn benches(count: usize, factor: f64, seed: u64) -> Vec<BenchLikelihood> {
    let random = &mut Random::new(seed);
    let middle = middle(random);
    (0..count)
        .map(|_| {
            let own = own(&middle, factor, random);
            bench(&own, random)
        })
        .collect()
}
