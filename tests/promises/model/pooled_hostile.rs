//! What doctored summaries can and cannot do to a pool. See docs/model.md, "How far one bench can
//! move a pool".

use crate::support::invented_benches::{Column, benches, claims, sds};
use crate::support::random_books::Random;
use swellbook::model::{
    BenchLikelihood, COEFFICIENTS, Coefficient, Pool, PoolError, Pooled, Pooling, SPREADS_TABLED,
    pool,
};

fn pooled(told: &[BenchLikelihood]) -> Pool {
    pool(told, Pooling::Regularised).expect("a pool")
}

/// The farthest move of any mean, in standard deviations of common practice.
fn moved(before: &Pool, after: &Pool) -> f64 {
    let each = before.pooled.means.iter().zip(after.pooled.means).zip(sds());
    each.map(|((before, after), sd)| (after - before).abs() / sd).fold(0.0, f64::max)
}

/// Directions of unit length: along two axes, and a random one.
fn directions(random: &mut Random) -> Vec<Column> {
    let axis =
        |name: Coefficient| std::array::from_fn(|at| if at == name as usize { 1.0 } else { 0.0 });
    let mut all = vec![axis(Coefficient::Factor), axis(Coefficient::TwoOn)];
    let mut any: Column = std::array::from_fn(|_| random.normal());
    let length = any.iter().map(|x| x * x).sum::<f64>().sqrt();
    any.iter_mut().for_each(|x| *x /= length);
    all.push(any);
    all
}

/// Benches that claim to know exactly that everything is `far` standard deviations off.
fn doctored(from: &Pool, direction: &Column, far: f64, count: usize) -> Vec<BenchLikelihood> {
    let sds = sds();
    let claim = |which: usize| {
        // A little apart, because identical summaries count once.
        let far = far + 0.001 * which as f64;
        let at = |j: usize| from.pooled.means[j] + far * sds[j] * direction[j];
        claims(&std::array::from_fn(at), 1000.0)
    };
    (0..count).map(claim).collect()
}

/// A sound covariance for the next bench. It is no narrower than eleven benches that differ as
/// believed allow among this many.
fn holds(pool: &Pool, benches: usize) {
    let least = 11.0 / (11.0 + benches as f64);
    let common = Pooled::common_practice();
    assert!(pool.pooled.beliefs().is_ok());
    let random = &mut Random::new(6);
    for _ in 0..20 {
        let x: Column = std::array::from_fn(|at| random.normal() / sds()[at]);
        let spread = |matrix: &[Column; COEFFICIENTS]| -> f64 {
            let row = |i: usize| (0..COEFFICIENTS).map(|j| x[i] * x[j] * matrix[i][j]).sum::<f64>();
            (0..COEFFICIENTS).map(row).sum()
        };
        let (found, believed) = (spread(&pool.pooled.between), spread(&common.between));
        assert!(found >= 0.999_999 * least * believed, "{found} {believed}");
        assert!(spread(&pool.pooled.covariance) >= found);
    }
}

/// One doctored bench among several, and the table of docs/model.md.
#[test]
fn one_bench_moves_no_mean_further_than_stated() {
    for (benches_in_all, most) in [(1, 3.5), (3, 3.0), (10, 2.0), (30, 1.2)] {
        let sound = benches(benches_in_all - 1, 1.0, 7);
        let before = pooled(&sound);
        for direction in directions(&mut Random::new(4)) {
            for far in [3.3, 7.0, 900.0] {
                let all = [sound.clone(), doctored(&before, &direction, far, 1)].concat();
                let after = pooled(&all);
                holds(&after, all.len());
                let far_moved = moved(&before, &after);
                assert!(far_moved <= most, "{benches_in_all} at {far}: {far_moved}");
                if far > 100.0 {
                    let last = after.benches.last().expect("a bench");
                    assert!(last.weight < 0.001 && !last.off.is_empty(), "{last:?}");
                    assert!(far_moved < 0.05, "{benches_in_all}: {far_moved}");
                }
            }
        }
    }
}

/// A few that agree with each other move a pool further, but not to where they claim.
#[test]
fn a_few_benches_together_cannot_take_over_a_pool() {
    let sound = benches(27, 1.0, 7);
    let before = pooled(&sound);
    for direction in directions(&mut Random::new(4)) {
        for far in [3.0, 10.0, 900.0] {
            let after = pooled(&[sound.clone(), doctored(&before, &direction, far, 3)].concat());
            holds(&after, 30);
            let far_moved = moved(&before, &after);
            assert!(far_moved <= 2.0, "at {far}: {far_moved}");
            assert!(far < 100.0 || far_moved < 0.05, "at {far}: {far_moved}");
        }
    }
}

/// Benches that claim to agree exactly narrow the differences between benches no more than the same
/// number of sound benches would.
#[test]
fn agreement_narrows_a_range_no_more_than_the_number_of_benches_allows() {
    let sound = benches(10, 1.0, 7);
    let before = pooled(&sound);
    let nowhere = [0.0; COEFFICIENTS];
    let all = [sound, doctored(&before, &nowhere, 0.0, 10)].concat();
    holds(&pooled(&all), 20);
}

/// A bench that is off in one coefficient is named with it and with the direction.
#[test]
fn a_bench_that_does_not_fit_is_named_with_what_is_odd_and_in_which_direction() {
    let sound = benches(20, 1.0, 12);
    let before = pooled(&sound);
    let down: Column = std::array::from_fn(|at| if at == 4 { -1.0 } else { 0.0 });
    let after = pooled(&[sound, doctored(&before, &down, 5.0, 1)].concat());
    let odd: Vec<_> = after.benches.iter().filter(|bench| !bench.off.is_empty()).collect();
    assert_eq!(odd.len(), 1);
    let off = odd[0].off[0];
    assert_eq!(off.coefficient, Coefficient::Knocked);
    assert!(off.by < -0.2 && off.deviations < -4.0, "{off:?}");
    assert!(after.benches.last() == Some(odd[0]));
}

/// All sound benches count in full, even if they differ by three times as much as believed. The
/// weights then change nothing at all.
#[test]
fn sound_benches_count_in_full() {
    for factor in [0.5, 1.0, 3.0] {
        for count in [2, 20] {
            let found = pooled(&benches(count, factor, 31));
            assert!(found.benches.iter().all(|one| one.weight == 1.0), "{factor} {count}");
        }
    }
}

/// A table that puts a spread at one tabled value moves its scale by no more than this.
#[test]
fn one_table_does_not_decide_a_scale() {
    let with = |top: usize| {
        let mut one = BenchLikelihood::NOTHING;
        for table in &mut one.spreads {
            table.iter_mut().for_each(|value| *value = -1e6);
            table[top] = 0.0;
        }
        one
    };
    let common = Pooled::common_practice().scales;
    for (sound, most) in [(0, 2.5), (3, 3.5), (10, 1.8), (30, 1.4)] {
        // Half-normal as believed, at its quantiles.
        let at = |which: usize| (which as f64 + 0.5) / sound as f64;
        let mut told: Vec<BenchLikelihood> =
            (0..sound).map(|which| with(place(at(which)))).collect();
        // Too little to say anything, but the summaries are no longer identical.
        told.iter_mut()
            .zip(1..)
            .for_each(|(one, at)| one.information[0][0] = 1e-12 * f64::from(at));
        let before = if sound == 0 { common } else { pooled(&told).pooled.scales };
        for top in [0, 8, 12, 16] {
            let after = pooled(&[told.clone(), vec![with(top)]].concat());
            for (after, before) in after.pooled.scales.iter().zip(before) {
                let ratio = after / before;
                assert!((1.0 / most..most).contains(&ratio), "{sound} at {top}: {ratio}");
            }
        }
    }
}

/// The tabled spread nearest to a quantile of the half-normal with scale 0.05. The quantile is
/// about p·(1 + 0.25·p²)·1.25 scales, for p up to 0.9.
fn place(p: f64) -> usize {
    let spread = 0.05 * 1.25 * p * (1.0 + 0.25 * p * p);
    let off = |at: usize| (SPREADS_TABLED[at] - spread).abs();
    (0..SPREADS_TABLED.len()).min_by(|&a, &b| off(a).total_cmp(&off(b))).expect("a spread")
}

/// Numbers that no readings give are refused with the index of their bench, without a panic.
#[test]
fn impossible_summaries_are_refused() {
    let sound = benches(2, 1.0, 1);
    let mut wrong = vec![claims(&[0.0; COEFFICIENTS], 1e9), sound[0].clone(), sound[0].clone()];
    wrong[1].information[0][0] = -1.0;
    wrong[2].weighted[3] = f64::NAN;
    let mut indefinite = BenchLikelihood::NOTHING;
    indefinite.information[0][1] = 50.0;
    indefinite.information[1][0] = 50.0;
    wrong.push(indefinite);
    for one in wrong {
        let told = [sound.clone(), vec![one]].concat();
        let found = pool(&told, Pooling::Regularised).map(|_| ());
        assert!(matches!(found, Err(PoolError::Impossible { bench: 2, .. })), "{found:?}");
    }
}
