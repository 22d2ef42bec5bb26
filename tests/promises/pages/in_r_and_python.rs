//! The examples in R and Python run as they are on the page, and give what the program prints.

use crate::pages::texts::text_of;
use crate::support::folder::Folder;
use crate::support::repository;
use std::collections::BTreeMap;

const PAGE: &str = "docs/how-to/use-in-r-and-python.md";

/// The code between the fences of this kind on the page, and the output shown below it.
fn block(kind: &str) -> (String, String) {
    let text = text_of(&repository(PAGE));
    let after = text.split(&format!("```{kind}\n")).nth(1).expect(kind).to_owned();
    let mut parts = after.split("```");
    let code = parts.next().expect("its end").to_owned();
    let shown =
        parts.nth(1).and_then(|it| it.strip_prefix("text\n")).unwrap_or_default().to_owned();
    (code, shown)
}

/// The book of the page with its table of observations.
fn book() -> Folder {
    let folder = Folder::new();
    folder.write("trials.csv", block("csv trials.csv").0);
    folder.run(&["init", "bench"]).ends(0);
    folder.run(&["--book", "bench", "import", "trials.csv"]).ends(0);
    let observations = ["export", "--observations", "--out", "observations.csv"];
    folder.run(&[&["--book", "bench"], &observations[..]].concat()).ends(0);
    folder
}

/// The mean swell of each paper, knocked down, from what the program prints.
fn printed(folder: &Folder) -> BTreeMap<String, f64> {
    let args = ["--book", "bench", "export", "--observations", "--format", "json"];
    let rows = folder.run(&args).json();
    let mut swells: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for row in rows.as_array().expect("rows").iter().filter(|row| row["state"] == "knocked") {
        let paper = row["paper"].as_str().expect("a paper").to_owned();
        swells.entry(paper).or_default().push(row["swell_mm"].as_f64().expect("a swell"));
    }
    let mean = |all: Vec<f64>| all.iter().sum::<f64>() / all.len() as f64;
    swells.into_iter().map(|(paper, all)| (paper, mean(all))).collect()
}

/// Asserts that each paper's line ends in its mean.
#[track_caller]
fn says(text: &str, means: &BTreeMap<String, f64>) {
    assert_eq!(means.len(), 2);
    for (paper, mean) in means {
        let line = text.lines().find(|line| line.contains(paper.as_str()));
        let line = line.unwrap_or_else(|| panic!("no {paper} in {text}"));
        let said: f64 = line.split_whitespace().last().unwrap_or_default().parse().expect(line);
        // R shows seven digits.
        assert!((said - mean).abs() < 1e-6, "{line}, and swellbook says {mean}");
    }
}

fn runs(program: &str, code_by: &str, kind: &str) {
    let (code, shown) = block(kind);
    assert!(code.trim_end().lines().count() <= 3, "{code}");
    let folder = book();
    let means = printed(&folder);
    says(&shown, &means);
    let output = folder.command(program).args([code_by, code.as_str()]).output();
    let Ok(output) = output else {
        eprintln!("{program} is not installed: its example was not run");
        return;
    };
    let out = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    says(&out, &means);
}

#[test]
fn the_three_lines_of_r_give_what_swellbook_prints() {
    runs("Rscript", "-e", "r");
}

#[test]
fn the_three_lines_of_python_give_what_swellbook_prints() {
    runs("python3", "-c", "python");
}
