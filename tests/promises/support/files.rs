//! Shared helpers: files of the repository, texts, JSON, random cases and counting digits.

use crate::support::folder::files_below;
use proptest::prelude::ProptestConfig;
use proptest::test_runner::{FileFailurePersistence, RngSeed};
use serde_json::Value;
use std::path::PathBuf;

pub fn repository(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The text of a file of the repository.
pub fn repository_text(path: &str) -> String {
    std::fs::read_to_string(repository(path)).expect(path)
}

/// A text with single spaces in place of its line breaks and columns.
pub fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Asserts that a text contains each of these parts.
#[track_caller]
pub fn assert_contains(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no {part:?} in {text}");
    }
}

/// The numbers in a JSON value, wherever they are.
pub fn numbers_in(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(all) => all.iter().flat_map(numbers_in).collect(),
        Value::Object(all) => all.values().flat_map(numbers_in).collect(),
        Value::Number(number) => number.as_f64().into_iter().collect(),
        Value::Null | Value::Bool(_) | Value::String(_) => Vec::new(),
    }
}

/// Settings of random cases that are the same in every run.
pub fn same_cases(cases: u32, seed: u64) -> ProptestConfig {
    ProptestConfig {
        cases,
        rng_seed: RngSeed::Fixed(seed),
        failure_persistence: Some(Box::new(FileFailurePersistence::Off)),
        ..ProptestConfig::default()
    }
}

/// Every Rust source below a folder of the repository, in order.
pub fn sources(dir: &str) -> Vec<PathBuf> {
    repository_files(dir, "rs")
}

/// Every file below a folder of the repository whose name has this ending, in order.
pub fn repository_files(dir: &str, ending: &str) -> Vec<PathBuf> {
    let mut found = files_below(&repository(dir));
    found.retain(|path| path.extension().is_some_and(|own| own == ending));
    found.sort();
    found
}

/// The rows of a CSV file of the repository, each as its fields, without the header.
pub fn rows(path: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_path(repository(path)).expect(path);
    let record = |record: Result<csv::StringRecord, csv::Error>| {
        record.expect(path).iter().map(str::to_owned).collect()
    };
    reader.records().map(record).collect()
}

pub fn number(field: &str) -> f64 {
    field.parse().unwrap_or_else(|_| panic!("{field} is no number"))
}

/// One value of a long table `model,quantity,value`.
pub fn value(path: &str, model: &str, quantity: &str) -> f64 {
    let found = rows(path).into_iter().find(|row| row[0] == model && row[1] == quantity);
    number(&found.unwrap_or_else(|| panic!("{path} has no {model} {quantity}"))[2])
}

/// Correct significant digits of `ours`: `−log10(|ours − theirs| / |theirs|)`, 15 at most.
pub fn digits(ours: f64, theirs: f64) -> f64 {
    let error = if theirs == 0.0 { ours.abs() } else { ((ours - theirs) / theirs).abs() };
    (-error.max(1e-15).log10()).min(15.0)
}

/// Fails unless `ours` has at least `wanted` correct digits.
#[track_caller]
pub fn assert_digits(what: &str, ours: f64, theirs: f64, wanted: f64) {
    let found = digits(ours, theirs);
    assert!(found >= wanted, "{what}: {ours} against {theirs}, {found:.1} digits of {wanted}");
}
