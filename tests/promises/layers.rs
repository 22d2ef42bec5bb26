//! Data goes one way: no module uses one to its right, and each outside library has its layer.

use crate::support::repository;
use std::path::{Path, PathBuf};

/// The layers from left to right.
const LAYERS: [&str; 10] =
    ["units", "trade", "book", "observe", "model", "terminal", "draw", "decide", "show", "cli"];

/// Outside libraries and the layers that may use them; a library not named here may be used by
/// none.
const LIBRARIES: [(&str, &[&str]); 27] = [
    ("anstream", &["main"]),
    ("askama", &["draw", "show"]),
    ("clap", &["terminal", "cli"]),
    ("comfy_table", &["terminal"]),
    ("csv", &["book"]),
    ("jiff", &["trade", "book", "observe", "terminal", "draw", "decide", "show"]),
    ("libm", &["model"]),
    ("linfa", &["model"]),
    ("linfa_linear", &["model"]),
    ("ndarray", &["model"]),
    ("plotters", &["draw"]),
    ("png", &["draw", "show"]),
    ("polars", &["observe"]),
    (
        "proptest",
        &[
            "units", "trade", "book", "observe", "model", "terminal", "draw", "decide", "show",
            "cli",
        ],
    ),
    ("rand_xoshiro", &["model"]),
    (
        "serde",
        &["units", "trade", "book", "observe", "model", "terminal", "draw", "decide", "show"],
    ),
    ("serde_json", &["terminal", "show"]),
    ("sha2", &["book"]),
    ("sobol", &["model"]),
    ("statrs", &["model"]),
    ("strsim", &["terminal", "book"]),
    ("swellbook", &["main"]),
    ("tempfile", &["book", "terminal", "cli"]),
    ("terminal_size", &["terminal"]),
    (
        "thiserror",
        &[
            "units", "trade", "book", "observe", "model", "terminal", "draw", "decide", "show",
            "cli",
        ],
    ),
    ("toml", &["book"]),
    (
        "std",
        &[
            "main", "units", "trade", "book", "observe", "model", "terminal", "draw", "decide",
            "show", "cli",
        ],
    ),
];

fn sources(dir: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(dir).expect("src can be read") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Every source file with its layer: the first part of its path under src.
fn layered() -> Vec<(String, PathBuf, String)> {
    let src = repository("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    files.sort();
    let layer = |path: &Path| {
        let inside = path.strip_prefix(&src).expect("under src");
        let first = inside.components().next().expect("a part").as_os_str().to_string_lossy();
        first.trim_end_matches(".rs").to_owned()
    };
    files
        .into_iter()
        .map(|path| (layer(&path), path.clone(), std::fs::read_to_string(&path).expect("text")))
        .collect()
}

/// The code of a source, without its comments and doc comments.
fn code(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(|line| line.split("//").next().unwrap_or(""))
}

#[test]
fn no_module_uses_one_to_its_right() {
    let mut seen = 0;
    for (layer, path, text) in layered() {
        let Some(own) = LAYERS.iter().position(|name| *name == layer) else { continue };
        seen += 1;
        for line in code(&text) {
            for later in &LAYERS[own + 1..] {
                let used = line.contains(&format!("crate::{later}"));
                assert!(!used, "{} is in {layer} and uses {later}: {line}", path.display());
            }
        }
    }
    assert!(seen > LAYERS.len(), "only {seen} sources were read");
}

/// `use x::` and `x::y` at the start of a path, where x is a crate of Cargo.toml.
#[test]
fn each_outside_library_is_used_in_its_layer_only() {
    let manifest = std::fs::read_to_string(repository("Cargo.toml")).expect("Cargo.toml");
    let manifest: toml::Table = manifest.parse().expect("Cargo.toml is TOML");
    let dependencies = manifest["dependencies"].as_table().expect("dependencies");
    for (layer, path, text) in layered() {
        for name in dependencies.keys().map(|name| name.replace('-', "_")) {
            let word = format!("{name}::");
            let uses = |line: &str| {
                line.match_indices(&word).any(|(at, _)| {
                    let before = line[..at].chars().next_back();
                    !before.is_some_and(|c| c.is_alphanumeric() || matches!(c, '_' | ':'))
                })
            };
            if let Some(line) = code(&text).find(|line| uses(line)) {
                let allowed = LIBRARIES.iter().find(|library| library.0 == name);
                let allowed = allowed.map_or(&[][..], |library| library.1);
                let fits = allowed.contains(&layer.as_str());
                assert!(fits, "{} is in {layer} and uses {name}: {line}", path.display());
            }
        }
    }
}

#[test]
fn main_is_short() {
    let text = std::fs::read_to_string(repository("src/main.rs")).expect("main.rs");
    assert!(text.lines().count() <= 26);
}
