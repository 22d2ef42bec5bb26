//! Exported draws are the fit: what is computed from the columns is what the program says.

use crate::support::folder::Folder;
use crate::support::{assert_digits, repository_text};
use serde_json::Value;
use std::collections::BTreeMap;

/// Digits shared by two ways to add up the same products.
const DIGITS: f64 = 9.0;
const PLAIN: usize = 8000;

fn book() -> Folder {
    Folder::of_sheet(repository_text("datasets/demonstration/trials.csv"))
}

fn fit(folder: &Folder) -> Value {
    folder.run(&["fit", "--json"]).json()
}

/// The columns of a table by their names.
struct Columns(BTreeMap<String, Vec<f64>>);

impl Columns {
    fn read(text: &str) -> Self {
        let mut lines = text.lines();
        let names: Vec<&str> = lines.next().expect("names").split(',').collect();
        let rows: Vec<Vec<f64>> = lines
            .map(|line| line.split(',').map(|cell| cell.parse().expect("a number")).collect())
            .collect();
        assert!(rows.iter().all(|row: &Vec<f64>| row.len() == names.len()));
        let column = |at| rows.iter().map(|row| row[at]).collect();
        Self(names.iter().enumerate().map(|(at, name)| ((*name).to_owned(), column(at))).collect())
    }

    fn of(folder: &Folder, rest: &[&str]) -> Self {
        Self::read(&folder.run(&[&["export", "--draws"], rest].concat()).ends(0).out)
    }

    fn get(&self, name: &str) -> &[f64] {
        self.0.get(name).unwrap_or_else(|| panic!("no column {name}"))
    }

    /// The sum of columns, row by row.
    fn sum(&self, names: &[String]) -> Vec<f64> {
        let rows = self.get("weight").len();
        (0..rows).map(|row| names.iter().map(|name| self.get(name)[row]).sum()).collect()
    }

    fn average(&self, values: impl IntoIterator<Item = f64>) -> f64 {
        self.get("weight").iter().zip(values).map(|(weight, value)| weight * value).sum()
    }

    /// Mean and sd by the law of total variance.
    fn total(&self, name: &str) -> (f64, f64) {
        let (means, sds) = (self.get(&format!("{name}_mean")), self.get(&format!("{name}_sd")));
        let mean = self.average(means.iter().copied());
        let square = |(m, s): (&f64, &f64)| s * s + (m - mean).powi(2);
        (mean, self.average(means.iter().zip(sds).map(square)).sqrt())
    }
}

/// Everything that `fit --json` gives under the name of one column: the name, its mean and sd.
fn summaries(document: &Value) -> Vec<(String, f64, f64)> {
    let number = |value: &Value| value.as_f64().expect("a number");
    let coefficients = document["coefficients"].as_object().unwrap().iter();
    let mut found: Vec<_> = coefficients
        .map(|(name, value)| (name.clone(), number(&value["mean"]), number(&value["sd"])))
        .collect();
    for thread in document["threads"].as_array().unwrap() {
        let (word, effect) = (thread["column"].as_str().unwrap(), &thread["effect"]);
        found.push((format!("thread__{word}"), number(&effect["mean"]), number(&effect["sd"])));
    }
    found
}

/// The columns that add up to the factor of a paper, as sewn or knocked down.
fn of_factor(paper: &Value, knocked: bool) -> Vec<String> {
    let (word, hardness) = (paper["column"].as_str().unwrap(), paper["hardness"].as_str().unwrap());
    let mut names = vec!["factor".to_owned(), format!("paper__{word}")];
    names.extend((hardness != "medium").then(|| hardness.to_owned()));
    if knocked {
        names.extend(["knocked".to_owned(), format!("paper_knocked__{word}")]);
    }
    names
}

#[test]
fn weighted_draws_give_the_means_and_deviations_of_fit() {
    let folder = book();
    let (document, columns) = (fit(&folder), Columns::of(&folder, &[]));
    assert_digits("weights", columns.average(std::iter::repeat(1.0)), 1.0, DIGITS);
    let summaries = summaries(&document);
    assert!(summaries.len() >= 12, "{summaries:?}");
    for (name, mean, sd) in summaries {
        let (ours, spread) = columns.total(&name);
        assert_digits(&name, ours, mean, DIGITS);
        assert_digits(&name, spread, sd, DIGITS);
    }
    for (name, value) in document["spreads"].as_object().unwrap() {
        let drawn = columns.get(&format!("spread_{name}"));
        let mean = columns.average(drawn.iter().copied());
        assert_digits(name, mean, value["mean"].as_f64().unwrap(), DIGITS);
    }
    for paper in document["papers"].as_array().unwrap() {
        let names = of_factor(paper, true).into_iter().map(|name| format!("{name}_mean"));
        let mean = columns.average(columns.sum(&names.collect::<Vec<_>>()));
        assert_digits("knocked", mean, paper["knocked"]["mean"].as_f64().unwrap(), DIGITS);
    }
}

/// Within four standard errors of this many independent draws. A standard deviation has an error of
/// about `sd/√(2N)`, more for a distribution with heavier tails than the normal.
#[test]
fn plain_draws_agree_with_fit_and_keep_what_goes_together() {
    let folder = book();
    let document = fit(&folder);
    let columns = Columns::of(&folder, &["--plain", &PLAIN.to_string()]);
    assert_eq!(columns.get("weight"), vec![1.0 / PLAIN as f64; PLAIN]);
    let close = |name: &str, values: &[f64], mean: f64, sd: f64| {
        let ours = columns.average(values.iter().copied());
        let spread = columns.average(values.iter().map(|value| (value - ours).powi(2))).sqrt();
        let error = sd / (PLAIN as f64).sqrt();
        assert!((ours - mean).abs() < 4.0 * error, "{name}: {ours} against {mean} ± {error}");
        assert!((spread - sd).abs() < 4.0 * error, "{name}: {spread} against {sd} ± {error}");
    };
    for (name, mean, sd) in summaries(&document) {
        close(&name, columns.get(&name), mean, sd);
    }
    // A factor is a sum of correlated unknowns, so its width is their joint width.
    for paper in document["papers"].as_array().unwrap() {
        for state in ["sewn", "knocked"] {
            let sum = columns.sum(&of_factor(paper, state == "knocked"));
            let told = |field: &str| paper[state][field].as_f64().unwrap();
            close(state, &sum, told("mean"), told("sd"));
        }
    }
    let paper = &document["papers"][0];
    let squares = of_factor(paper, false).into_iter().map(|name| {
        let values = columns.get(&name);
        let mean = columns.average(values.iter().copied());
        columns.average(values.iter().map(|value| (value - mean).powi(2)))
    });
    let apart = squares.sum::<f64>().sqrt();
    assert!(apart > 1.5 * paper["sewn"]["sd"].as_f64().unwrap(), "nothing was correlated: {apart}");
}

#[test]
fn the_same_seed_gives_the_same_rows() {
    let folder = book();
    let rows = |seed: &[&str]| {
        folder.run(&[&["export", "--draws", "--plain", "20"], seed].concat()).ends(0).out
    };
    assert_eq!(rows(&[]), rows(&["--seed", "1"]));
    assert_ne!(rows(&[]), rows(&["--seed", "2"]));
    // More rows begin with the same ones.
    let more = folder.run(&["export", "--draws", "--plain", "30"]).ends(0).out;
    let cells = |text: &str| -> Vec<Vec<String>> {
        let row = |line: &str| line.split(',').skip(2).map(str::to_owned).collect();
        text.lines().skip(1).take(20).map(row).collect()
    };
    assert_eq!(cells(&rows(&[])), cells(&more));
}

/// Whatever the name of a paper, R and Python take its column as a plain name.
#[test]
fn every_column_has_a_plain_name_of_its_own() {
    let folder = book();
    for paper in ["bond, \"80\"", "bond; 80", "BOND 80", "紙", "1+1"] {
        folder.run(&["record", "paper", paper, "--caliper", "0.1mm"]).ends(0);
    }
    for rest in [&[][..], &["--plain", "3"]] {
        let out = folder.run(&[&["export", "--draws"], rest].concat()).ends(0).out;
        let names: Vec<&str> = out.lines().next().unwrap().split(',').collect();
        let plain = |name: &&&str| {
            let letters = name.chars().all(|sign| sign.is_ascii_alphanumeric() || sign == '_');
            letters && name.starts_with(|first: char| first.is_ascii_alphabetic())
        };
        assert!(names.iter().filter(plain).count() == names.len(), "{names:?}");
        let alone: std::collections::BTreeSet<_> =
            names.iter().map(|name| name.to_lowercase()).collect();
        assert_eq!(alone.len(), names.len(), "{names:?}");
        for name in ["paper__bond_80", "paper__bond_80_2", "paper__unnamed", "paper__1_1"] {
            assert!(names.iter().any(|found| found.starts_with(name)), "{name} in {names:?}");
        }
    }
    let document = fit(&folder);
    let papers = document["papers"].as_array().unwrap();
    let word = papers.iter().find(|paper| paper["paper"] == "bond; 80").unwrap();
    assert_eq!(word["column"], "bond_80_2");
}

/// Two hands have an effect each; a single hand has none.
#[test]
fn hands_are_there_where_there_are_several() {
    let folder = book();
    let sheet = folder.read("sheet.csv");
    let rows = sheet.lines().enumerate().map(|(at, line)| match at {
        0 => format!("{line},hand"),
        _ => format!("{line},{}", if line < "B05" { "anna" } else { "ben" }),
    });
    let two = Folder::of_sheet(rows.collect::<Vec<_>>().join("\n") + "\n");
    let columns = Columns::of(&two, &[]);
    assert_eq!(columns.get("hand__anna_mean").len(), columns.get("spread_hand").len());
    assert!(!Columns::of(&folder, &[]).0.keys().any(|name| name.contains("hand")));
}

#[test]
fn a_file_of_draws_never_takes_the_place_of_another() {
    let folder = book();
    let before = folder.bytes();
    let to = |name: &str, more: &[&str]| {
        folder.run(&[&["export", "--draws", "--out", name], more].concat())
    };
    to("papers.csv", &["--replace"]).ends(3).complains_of(&["papers.csv", "belongs to a book"]);
    to("sheet.csv", &[]).ends(3).complains_of(&["swellbook may not have made it", "--replace"]);
    to("draws.txt", &[]).ends(3).complains_of(&["does not end in .csv"]);
    assert_eq!(folder.bytes(), before);
    assert!(to("draws.csv", &[]).ends(0).out.contains(" draws: draws.csv"));
    let first = folder.read("draws.csv");
    // It may replace its own file.
    assert_eq!(to("draws.csv", &["--plain", "5"]).ends(0).out, "wrote 5 draws: draws.csv\n");
    assert_ne!(folder.read("draws.csv"), first);
    assert_eq!(folder.run(&["export", "--draws"]).ends(0).out, first);
    folder.run(&["audit", "--strict"]).ends(0);
    folder.run(&["export"]).ends(2).complains_of(&["--draws"]);
    folder
        .run(&["export", "--draws", "--plain", "0"])
        .ends(3)
        .complains_of(&["--plain", "1..100000"]);
}
