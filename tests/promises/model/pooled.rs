//! A pool of benches matches another program's meta-analysis, in any order, and its ranges hold at
//! the next bench.

use crate::support::invented_benches::{Column, bench, benches, claims, middle, own};
use crate::support::random_books::Random;
use crate::support::repository;
use swellbook::model::mixed::inverse;
use swellbook::model::{
    Beliefs, BenchLikelihood, COEFFICIENTS, Coefficient, Pool, Pooled, Pooling, SwellSpread, pool,
};

/// Six digits are promised; the search ends with eight or more.
const SIX_DIGITS: f64 = 1e-6;

/// One line of the reference values: what, bench, i and j (counted from one; 0 if there is none).
struct Line {
    what: String,
    bench: usize,
    i: usize,
    j: usize,
    value: f64,
}

fn reference(set: &str) -> Vec<Line> {
    let path = repository("tests/reference/pool_metafor.csv");
    let text = std::fs::read_to_string(path).expect("the reference values");
    let lines = text.lines().skip(1).map(|line| line.split(',').collect::<Vec<_>>());
    let whole = |field: &str| field.parse::<usize>().expect("a number");
    lines
        .filter(|fields| fields[0] == set)
        .map(|fields| Line {
            what: fields[1].to_owned(),
            bench: whole(fields[2]),
            i: whole(fields[3]),
            j: whole(fields[4]),
            value: fields[5].parse().expect("a value"),
        })
        .collect()
}

/// A bench's estimates as a summary of its readings, with the number of estimates and log|V|.
fn learnt(lines: &[Line], bench: usize) -> (BenchLikelihood, usize, f64) {
    let of = |what: &str| {
        lines.iter().filter(move |line| line.bench == bench).filter({
            let what = what.to_owned();
            move |line| line.what == what
        })
    };
    let has: Vec<usize> = of("y").map(|line| line.i).collect();
    let v = |i: usize, j: usize| {
        of("v").find(|line| (line.i, line.j) == (has[i], has[j])).expect("v").value
    };
    let (precision, log) = inverse(has.len(), v).expect("V is positive definite");
    let mut learnt = BenchLikelihood::NOTHING;
    for (a, &i) in has.iter().enumerate() {
        for (b, &j) in has.iter().enumerate() {
            learnt.information[i - 1][j - 1] = precision[a][b];
            let y = of("y").find(|line| line.i == j).expect("y").value;
            learnt.weighted[i - 1] += precision[a][b] * y;
        }
    }
    (learnt, has.len(), log)
}

fn agree(ours: f64, theirs: f64, scale: f64, what: &str) {
    assert!((ours - theirs).abs() <= SIX_DIGITS * scale, "{what}: {ours} against {theirs}");
}

/// Source: `rma.mv` of metafor, by `tests/reference/pool_metafor.R`. Its log likelihood has
/// constants that ours leaves out: `−½·Σlog|V|`, `−½·(rows − 3)·log 2π`, and `½·log|XᵀX|` of its
/// design.
#[test]
fn restricted_maximum_likelihood_agrees_with_another_program() {
    for set in ["whole", "partial"] {
        let lines = reference(set);
        let each: Vec<_> = (1..=20).map(|bench| learnt(&lines, bench)).collect();
        let told: Vec<BenchLikelihood> = each.iter().map(|one| one.0.clone()).collect();
        let found = pool(&told, Pooling::Reml).expect("a pool");
        let of = |what: &str, i: usize, j: usize| {
            let place = |line: &&Line| line.what == what && (line.i, line.j) == (i, j);
            lines.iter().find(place).expect("a reference value").value
        };
        for i in 1..=3 {
            let (mean, variance) = (of("mean", i, 0), of("cov", i, i));
            agree(found.pooled.means[i - 1], mean, mean.abs(), &format!("{set} mean {i}"));
            for j in 1..=3 {
                let what = format!("{set} {i} {j}");
                let scale = (variance * of("cov", j, j)).sqrt();
                agree(found.uncertainty[i - 1][j - 1], of("cov", i, j), scale, &what);
                let scale = (of("between", i, i) * of("between", j, j)).sqrt();
                agree(found.pooled.between[i - 1][j - 1], of("between", i, j), scale, &what);
            }
        }
        let rows: usize = each.iter().map(|one| one.1).sum();
        let logs: f64 = each.iter().map(|one| one.2).sum();
        // XᵀX counts the benches that have each coefficient.
        let design: f64 = (1..=3)
            .map(|i| lines.iter().filter(|line| line.what == "y" && line.i == i).count() as f64)
            .map(f64::ln)
            .sum();
        let constants = 0.5 * (design - logs - (rows - 3) as f64 * std::f64::consts::TAU.ln());
        let theirs = of("loglik", 0, 0);
        agree(found.log_likelihood + constants, theirs, theirs.abs(), "log likelihood");
        // A coefficient about which no bench says anything stays as in common practice.
        let last = COEFFICIENTS - 1;
        assert_eq!(found.pooled.means[last], Pooled::common_practice().means[last]);
    }
}

/// A pool of no benches, or of benches without readings, is exactly common practice.
#[test]
fn without_readings_a_pool_is_common_practice() {
    let common = Pooled::common_practice();
    let beliefs = Beliefs::default();
    for name in Coefficient::ALL {
        let (at, belief) = (name as usize, beliefs.coefficient(name));
        assert_eq!(common.means[at], belief.mean);
        assert!((common.covariance[at][at] - belief.sd * belief.sd).abs() < 1e-17);
        assert!((common.between[at][at].sqrt() - belief.sd / 3.0).abs() < 1e-16);
    }
    for told in [vec![], vec![BenchLikelihood::NOTHING]] {
        let found = pool(&told, Pooling::Regularised).expect("a pool").pooled;
        for at in 0..COEFFICIENTS {
            assert!((found.means[at] - common.means[at]).abs() < 1e-15);
            for to in 0..COEFFICIENTS {
                let scale = (common.covariance[at][at] * common.covariance[to][to]).sqrt();
                let off = (found.covariance[at][to] - common.covariance[at][to]).abs();
                assert!(off < 1e-7 * scale, "{at} {to}: {off}");
            }
        }
        assert_eq!(found.scales, common.scales);
    }
}

fn bits(pool: &Pool) -> Vec<u64> {
    let pooled = &pool.pooled;
    let all = [&pooled.means[..], pooled.covariance.as_flattened(), &pooled.scales[..]].concat();
    all.into_iter().map(f64::to_bits).collect()
}

#[test]
fn the_order_of_the_benches_does_not_matter_to_the_last_bit() {
    let mut told = benches(7, 1.0, 11);
    let random = &mut Random::new(5);
    for one in &mut told {
        for table in &mut one.spreads {
            let top = random.whole(1, 16);
            for (at, value) in table.iter_mut().enumerate() {
                *value = -0.3 * (at as f64 - f64::from(top)).powi(2);
            }
        }
    }
    let first = pool(&told, Pooling::Regularised).expect("a pool");
    for _ in 0..3 {
        random.shuffle(&mut told);
        assert_eq!(bits(&pool(&told, Pooling::Regularised).expect("a pool")), bits(&first));
    }
}

/// The same content counts once, and the copy names its twin.
#[test]
fn the_same_summary_counts_once() {
    let told = benches(4, 1.0, 3);
    let doubled = [&told[..], &told[1..2], &told[1..2]].concat();
    let (once, twice) = (
        pool(&told, Pooling::Regularised).expect("a pool"),
        pool(&doubled, Pooling::Regularised).expect("a pool"),
    );
    assert_eq!(bits(&once), bits(&twice));
    let twins: Vec<_> = twice.benches.iter().map(|bench| bench.twin).collect();
    assert_eq!(twins, [None, None, None, None, Some(1), Some(1)]);
}

/// Benches known exactly have the covariance of their coefficients, about their mean and over one
/// fewer than there are. The beliefs count as much as eleven benches among them.
#[test]
fn with_many_benches_beliefs_no_longer_count() {
    const BENCHES: usize = 300;
    let random = &mut Random::new(8);
    let middle = middle(random);
    let exact: Vec<Column> = (0..BENCHES).map(|_| own(&middle, 1.0, random)).collect();
    let told: Vec<BenchLikelihood> = exact.iter().map(|own| claims(own, 1e5)).collect();
    let free = pool(&told, Pooling::Reml).expect("a pool");
    let ours = pool(&told, Pooling::Regularised).expect("a pool");
    assert!(ours.benches.iter().all(|bench| bench.weight == 1.0));
    let mean: Column =
        std::array::from_fn(|at| exact.iter().map(|own| own[at]).sum::<f64>() / BENCHES as f64);
    for at in 0..COEFFICIENTS {
        let squares: f64 = exact.iter().map(|own| (own[at] - mean[at]).powi(2)).sum();
        let variance = squares / (BENCHES - 1) as f64;
        assert!((free.pooled.between[at][at] / variance - 1.0).abs() < SIX_DIGITS, "{at}");
        assert!((free.pooled.means[at] - mean[at]).abs() < SIX_DIGITS * variance.sqrt(), "{at}");
        let (ratio, share) = (ours.pooled.between[at][at] / variance, 11.0 / (11.0 + 300.0));
        assert!((ratio - 1.0).abs() < share, "{at}: {ratio}");
    }
}

/// How often the 90 % range of a coefficient holds at the next bench, over simulated worlds.
fn coverage(count: usize, factor: f64, worlds: u64) -> f64 {
    let (mut within, mut all) = (0, 0);
    for seed in 0..worlds {
        let random = &mut Random::new(900 + seed);
        let middle = middle(random);
        let told: Vec<BenchLikelihood> = (0..count)
            .map(|_| {
                let own = own(&middle, factor, random);
                bench(&own, random)
            })
            .collect();
        let pooled = pool(&told, Pooling::Regularised).expect("a pool").pooled;
        let next = own(&middle, factor, random);
        for (at, own) in next.iter().enumerate() {
            let off = (own - pooled.means[at]).abs();
            within += usize::from(off < 1.644_854 * pooled.covariance[at][at].sqrt());
            all += 1;
        }
    }
    within as f64 / all as f64
}

/// If benches differ as believed, ranges hold at the next one with few benches and with more. If
/// they differ by twice as much, ten benches have shown most of it.
#[test]
fn ranges_hold_at_the_next_bench() {
    for (count, factor, low, high) in
        [(1, 1.0, 0.86, 0.96), (3, 1.0, 0.86, 0.96), (10, 1.0, 0.84, 0.96), (10, 2.0, 0.75, 0.93)]
    {
        let share = coverage(count, factor, 25);
        assert!((low..high).contains(&share), "{count} benches, {factor}: {share}");
    }
}

/// Every spread is at a well-known θ. The scale is near the half-normal's own estimate √(mean θ²),
/// moved a little towards common practice.
#[test]
fn scales_are_those_of_the_half_normal() {
    let random = &mut Random::new(2);
    let told: Vec<BenchLikelihood> = (0..60)
        .map(|_| {
            let mut one = BenchLikelihood::NOTHING;
            let theta = 0.1 * random.normal().abs();
            for (value, at) in one.spreads[SwellSpread::Sewing as usize]
                .iter_mut()
                .zip(swellbook::model::SPREADS_TABLED)
            {
                *value = -0.5 * ((at - theta) / 0.01).powi(2);
            }
            let row = &mut one.spreads[SwellSpread::Sewing as usize];
            let top = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            row.iter_mut().for_each(|value| *value -= top);
            one
        })
        .collect();
    let scales = pool(&told, Pooling::Regularised).expect("a pool").pooled.scales;
    let scale = scales[SwellSpread::Sewing as usize];
    assert!((scale / 0.1 - 1.0).abs() < 0.2, "{scale}");
    assert_eq!(scales[SwellSpread::Hand as usize], 0.05);
}
