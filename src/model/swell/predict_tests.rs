//! Compares the closed form with integration over the fore-edge by scipy 1.17.1 (seen):
//! tests/reference/odds_scipy.py.

use super::fore_edge::Gaussian;
use super::predict::Prediction;
use crate::model::mixed::Mixture;
use std::sync::Arc;

const REFERENCE: &str = include_str!("../../../tests/reference/odds_scipy.csv");
/// The reference is integrated to about 1e-12. Its quantiles are as accurate, divided by a slope
/// over 0.01 per per cent.
const SCIPY: f64 = 1e-10;
/// Ours are found to 1e-9 of the width of the distribution, which is a few per cent.
const QUANTILE: f64 = 1e-7;

struct Row {
    case: usize,
    what: &'static str,
    numbers: [f64; 3],
}

fn rows() -> Vec<Row> {
    let row = |line: &'static str| {
        let fields: Vec<&str> = line.split(',').collect();
        let number = |at: usize| match fields[at] {
            "" => f64::NAN,
            text => text.parse().expect("a number"),
        };
        let case = fields[0].parse().expect("a case");
        Row { case, what: fields[1], numbers: [number(2), number(3), number(4)] }
    };
    REFERENCE.lines().skip(1).map(row).collect()
}

fn prediction(rows: &[Row], case: usize) -> Prediction {
    let of = |what| rows.iter().filter(move |row| row.case == case && row.what == what);
    let column = |at: usize| of("component").map(|row| row.numbers[at]).collect::<Vec<f64>>();
    let [mean, sd, _] = of("fore_edge").next().expect("a fore-edge").numbers;
    let swell = Mixture::new(Arc::from(column(0)), column(1), column(2));
    Prediction { swell, fore_edge: Gaussian { mean, sd } }
}

#[test]
fn odds_and_quantiles_are_those_of_integration_over_the_fore_edge() {
    let rows = rows();
    let mut compared = 0;
    for row in rows.iter().filter(|row| matches!(row.what, "band" | "quantile")) {
        let prediction = prediction(&rows, row.case);
        let [a, b, c] = row.numbers;
        let (ours, theirs, tolerance) = match row.what {
            "band" => (prediction.chance(a, b), c, SCIPY),
            _ => (prediction.percent_quantile(a), b, QUANTILE),
        };
        assert!((ours - theirs).abs() < tolerance, "case {}: {ours} {theirs}", row.case);
        compared += 1;
    }
    assert_eq!(compared, 28);
}

/// A target that covers nearly everything, such as -20 to 200 per cent.
#[test]
fn a_chance_is_at_most_one_whatever_the_weights_add_up_to() {
    let weights = vec![0.1 + f64::EPSILON; 10];
    assert!(weights.iter().sum::<f64>() > 1.0, "the last digits add up to more");
    let swell = Mixture::new(Arc::from(weights), vec![2.0; 10], vec![0.1; 10]);
    let prediction = Prediction { swell, fore_edge: Gaussian { mean: 10.0, sd: 0.1 } };
    assert_eq!(prediction.chance(-20.0, 200.0), 1.0);
}
