//! Tests of pool files. All figures are invented.

use super::pool_file::{ChosenPool, PoolFile, PooledBelief};
use super::pool_table::read_pool_file;
use super::pool_written::pool_text;
use crate::book::error::{BookError, Fault};

pub(super) fn pool() -> PoolFile {
    let belief = |mean, correlations: &[(&str, f64)]| PooledBelief {
        mean,
        sd: 0.1 + 0.2_f64.powi(9),
        between: 0.05,
        correlations: correlations.iter().map(|&(name, r)| (name.to_owned(), r)).collect(),
    };
    let beliefs = [
        ("factor", belief(0.6, &[("hard", -0.25), ("two_on", 1.0 / 3.0)])),
        ("hard", belief(0.04, &[("factor", -0.25)])),
        ("two_on", belief(-1e-5, &[("factor", 1.0 / 3.0)])),
    ];
    PoolFile {
        benches: 42,
        trials: 610,
        made: "2026-11-20".to_owned(),
        beliefs: beliefs.map(|(name, belief)| (name.to_owned(), belief)).into(),
        spreads: [("paper".to_owned(), 0.07)].into(),
    }
}

pub(super) fn chosen() -> ChosenPool {
    let (file, chosen) = ("pools/pool.toml".to_owned(), "2026-11-27".to_owned());
    ChosenPool { file, sha256: "0123456789abcdef".repeat(4), chosen, pool: pool() }
}

fn messages(text: &str) -> Vec<String> {
    match read_pool_file(text.as_bytes(), "p.toml") {
        Err(BookError::Faults { faults }) => faults.iter().map(Fault::to_string).collect(),
        other => panic!("{other:?}"),
    }
}

/// The text of the pool with `from` replaced by `to`.
fn with(from: &str, to: &str) -> String {
    let text = pool_text(&pool());
    assert_eq!(text.matches(from).count(), 1, "{from}: {text}");
    text.replace(from, to)
}

#[test]
fn what_is_written_reads_alike_to_the_last_digit_and_each_pair_is_there_once() {
    let text = pool_text(&pool());
    assert_eq!(read_pool_file(text.as_bytes(), "p.toml").unwrap(), pool());
    assert!(text.contains("\n[beliefs.factor]\nmean = 0.6\n"), "{text}");
    assert!(text.contains("correlations = { hard = -0.25, two_on = 0.333"), "{text}");
    assert_eq!(text.matches("correlations").count(), 1, "{text}");
}

#[test]
fn everything_wrong_is_named_with_its_line_at_once() {
    let text = with("benches = 42", "benches = -1")
        .replace("2026-11-20", "2026-02-30")
        .replace("mean = 0.04", "maen = 0.04")
        .replace("paper = 0.07", "paper = 0.0");
    let line = |word: &str| 1 + text.lines().position(|line| line.contains(word)).unwrap();
    let found = messages(&text);
    let expected = [
        format!("p.toml:{}: benches -1 is outside 0..1000000000000", line("benches =")),
        format!("p.toml:{}: made: '2026-02-30' is not a day of the calendar", line("made")),
        format!("p.toml:{}: the key 'mean' is missing in [beliefs.hard]", line("s.hard]")),
        format!("p.toml:{}: 'maen' is not known; is it 'mean'?", line("maen")),
        format!("p.toml:{}: the scale 0.0 is outside 0.000001..100", line("paper =")),
    ];
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (found, expected) in found.iter().zip(&expected) {
        assert!(found.starts_with(expected), "{found}: not {expected}");
    }
}

#[test]
fn numbers_that_no_belief_has_are_refused() {
    for (from, to, says) in [
        ("mean = 0.6\n", "mean = nan\n", "the mean NaN is outside -100..100"),
        ("mean = 0.6\n", "mean = inf\n", "the mean inf is outside"),
        ("mean = 0.6\n", "mean = 1e999\n", "floating-point number overflowed"),
        ("mean = 0.6\n", "mean = \"0.6\"\n", "the mean must be a number"),
        ("hard = -0.25", "hard = -1.5", "the correlation -1.5 is outside -1..1"),
        ("hard = -0.25", "hrad = -0.25", "no [beliefs.hrad] here; expected one of factor, hard,"),
        ("hard = -0.25", "factor = 1.0", "a belief's correlation with itself is always 1"),
        ("trials = 610", "trials = 6.1", "trials must be a whole number"),
        ("trials = 610", "trials = 99999999999999999999", "trials must be a whole number"),
        ("made = \"2026-11-20\"", "made = 2026-11-20", "made must be a text in quotes"),
        ("made = \"2026-11-20\"", "made = \"20 Nov 2026\"", "write the day as 2026-11-20"),
        ("paper = 0.07", "paper = []", "the scale must be a number"),
        ("benches = 42\n", "", "the key 'benches' is missing"),
    ] {
        let found = messages(&with(from, to));
        assert!(found.len() == 1 && found[0].contains(says), "{to}: {found:?}");
    }
}

#[test]
fn benches_never_differ_more_than_a_new_bench_is_unsure() {
    let text = pool_text(&pool()).replacen("between = 0.05", "between = 0.2", 1);
    let found = messages(&text);
    assert!(found[0].contains("between 0.2 is greater than the sd 0.100000512"), "{found:?}");
}

#[test]
fn a_pair_that_is_there_twice_is_refused() {
    let text =
        with("\n[beliefs.two_on]\n", "correlations = { factor = 0.9 }\n\n[beliefs.two_on]\n");
    let found = messages(&text);
    assert!(found[0].contains("of factor and hard is given twice; keep one"), "{found:?}");
}

#[test]
fn what_is_not_a_pool_is_refused() {
    assert!(messages("benches = 1\n")[0].contains("write format = 1"));
    assert!(messages("format = 1\n").len() == 5);
    assert!(messages("format = 1\nbeliefs = 3\n")[4].contains("[beliefs.factor]"));
    assert!(messages(&"#".repeat(17 * 1024))[0].contains("too large for a pool"));
    let newer = read_pool_file(b"format = 2\nx = 1\n", "p.toml").unwrap_err().to_string();
    assert!(newer.starts_with("p.toml: made by a newer swellbook: format 2"), "{newer}");
    let whole = pool_text(&pool());
    // Only the model knows which spreads are required.
    for length in 0..whole.find("\n[spreads]").unwrap() {
        assert!(read_pool_file(&whole.as_bytes()[..length], "p.toml").is_err(), "{length}");
    }
}
