//! Certified values: the NIST Statistical Reference Datasets, digits counted.
//! docs/evidence-gauge.md has the same digits as a table.

use crate::support::{assert_digits, digits, number, repository_text, rows, value};
use swellbook::model::least_squares;
use swellbook::model::variance::OneWay;

const CERTIFIED: &str = "datasets/nist/certified.csv";
const EXACT: &str = "tests/reference/anova_exact.csv";

/// The compared quantities, in the order of the digits below.
const QUANTITIES: [&str; 5] = ["between_ms", "within_ms", "f", "r_squared", "residual_sd"];

/// The sets, from the easiest to the hardest. SmLs07 to SmLs09 have readings such as
/// 1000000000000.4. The nearest double is off by 0.00002, so any sum of doubles can give at best
/// about four digits. SmLs04 to SmLs06 and AtmWtAg lose some in the same way.
const ANOVA: [&str; 11] = [
    "SiRstv", "SmLs01", "SmLs02", "SmLs03", "AtmWtAg", "SmLs04", "SmLs05", "SmLs06", "SmLs07",
    "SmLs08", "SmLs09",
];
const HARD: [&str; 3] = ["SmLs07", "SmLs08", "SmLs09"];

/// Digits shared with exact fractions of the doubles as read: only the last rounding is lost.
const OF_THE_DOUBLES: f64 = 14.0;

/// Digits wanted of a set where its readings allow them.
const WANTED: f64 = 9.0;

fn analysed(set: &str) -> [f64; 5] {
    let table = rows(&format!("datasets/nist/{set}.csv"));
    let groups: Vec<usize> = table.iter().map(|row| row[0].parse().unwrap()).collect();
    let values: Vec<f64> = table.iter().map(|row| number(&row[1])).collect();
    let found = OneWay::new(&groups, &values).expect("a set with groups");
    let between = found.between.mean_square().expect("groups");
    let within = found.within.mean_square().expect("repeats");
    assert_eq!(found.between.df, value(CERTIFIED, set, "between_df"));
    assert_eq!(found.within.df, value(CERTIFIED, set, "within_df"));
    let r_squared = found.between.ss / (found.between.ss + found.within.ss);
    [between, within, found.f().unwrap(), r_squared, within.sqrt()]
}

/// Slack for sums, which are the same to the last bit on every machine.
const SUMS: f64 = 0.11;
/// Slack for fits. The library multiplies matrices as suits the processor, so last digits differ.
const FITS: f64 = 3.0;

/// The digits that docs/evidence-gauge.md states for a set.
fn stated(set: &str) -> Vec<f64> {
    let path = "docs/evidence-gauge.md";
    let text = repository_text(path);
    let row = text.lines().find_map(|line| line.strip_prefix(&format!("| {set} |")));
    let cells = row.unwrap_or_else(|| panic!("{path} has no row {set}")).split('|');
    cells.map(str::trim).filter(|cell| !cell.is_empty()).map(number).collect()
}

/// The counted digits are at least the stated ones, and less than `slack` above them. A table that
/// states too many or too few digits is wrong.
#[track_caller]
fn as_stated(set: &str, counted: &[f64], slack: f64) {
    let stated = stated(set);
    let near = |(counted, stated): (&f64, &f64)| (*stated..stated + slack).contains(counted);
    let same = counted.len() == stated.len() && counted.iter().zip(&stated).all(near);
    assert!(same, "{set}: counted {counted:.2?}, stated {stated:?}");
}

#[test]
fn analyses_of_variance_have_the_certified_digits() {
    for set in ANOVA {
        let certified = |quantity| value(CERTIFIED, set, quantity);
        let ours = analysed(set);
        for (quantity, ours) in QUANTITIES.into_iter().zip(ours) {
            let exact = value(EXACT, set, quantity);
            let name = format!("{set} {quantity}");
            assert_digits(&format!("{name}, of the doubles"), ours, exact, OF_THE_DOUBLES);
            // Missing digits are lost in the doubles themselves.
            let possible = digits(exact, certified(quantity));
            assert_eq!(possible < WANTED, HARD.contains(&set), "{name}: {possible} are possible");
        }
    }
    for set in ANOVA {
        let ours = QUANTITIES.iter().zip(analysed(set));
        let counted = ours.map(|(q, ours)| digits(ours, value(CERTIFIED, set, q)));
        as_stated(set, &counted.collect::<Vec<_>>(), SUMS);
    }
}

fn columns(set: &str) -> Vec<Vec<f64>> {
    let table = rows(&format!("datasets/nist/{set}.csv"));
    (0..table[0].len()).map(|at| table.iter().map(|row| number(&row[at])).collect()).collect()
}

/// Coefficients b0, b1 … and the residual standard deviation.
fn line(set: &str) -> (Vec<f64>, f64) {
    let mut columns = columns(set);
    let y = columns.remove(0);
    let line = least_squares(&columns, &y, true).expect("one answer");
    let intercept = line.intercept.expect("asked for");
    ([&[intercept], &line.slopes[..]].concat(), line.residual_sd)
}

/// NIST gives 15 digits of each; the readings of both sets are short. Longley's columns are nearly
/// linear combinations of each other (condition number 5e9 as they stand), so most of a double can
/// be lost. Centring and scaling them keeps the digits that the table states.
#[test]
fn ordinary_fits_have_the_certified_digits() {
    for set in ["Norris", "Longley"] {
        let (coefficients, residual_sd) = line(set);
        let certified = |index| value(CERTIFIED, set, &format!("b{index}"));
        let each = coefficients.iter().enumerate().map(|(at, ours)| digits(*ours, certified(at)));
        let worst = each.fold(f64::INFINITY, f64::min);
        let residual = match set {
            "Norris" => value(CERTIFIED, set, "residual_sd"),
            _ => value(CERTIFIED, set, "residual_ms").sqrt(),
        };
        assert!(worst >= WANTED, "{set}: {worst}");
        as_stated(set, &[worst, digits(residual_sd, residual)], FITS);
    }
}
