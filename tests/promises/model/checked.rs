//! A check reports bends where there are some and nothing in sound books. Its figures match a
//! second calculation.

use crate::support::compare_books::believed;
use crate::support::folder::Folder;
use crate::support::random_books::on_disk;
use crate::support::{assert_digits, repository_text};
use serde_json::Value;
use swellbook::book::Config;
use swellbook::jobs::fit::answer_check::check;
use swellbook::jobs::fitted::Bench;

fn demonstration() -> Folder {
    Folder::of_sheet(repository_text("datasets/demonstration/trials.csv"))
}

/// Twelve blocks of one paper whose share falls with the sections to the power `power − 1`, with a
/// little scatter in the readings.
fn bent(power: f64) -> Folder {
    let mut sheet = String::from(
        "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,\
         place,spine_mm,fore_edge_mm\n",
    );
    for (at, n) in [6, 24, 10, 16, 8, 20, 12, 6, 24, 14, 8, 18].into_iter().enumerate() {
        let (n, sewing) = (f64::from(n), [0.01, -0.02, 0.0, 0.02, -0.01][at % 5]);
        let leaves = n * 8.0 * 0.1 * 1.04;
        let swell = n * (0.02 + 0.45 * (0.62 * (n / 10.0).powf(power - 1.0) + sewing));
        for (place, off) in [("head", 0.04), ("middle", -0.06), ("tail", 0.02)] {
            let (spine, edge) = (leaves + swell + off, leaves - off / 2.0);
            sheet += &format!(
                "B{at:02},2026-01-{:02},bond,medium,0.1,flax,0.45,{n},4,1,0,no,sewn,{place},\
                 {spine:.2},{edge:.2}\n",
                at + 1
            );
        }
    }
    Folder::of_sheet(&sheet)
}

/// Without a term for it, the bend is left over, and `fit` reports it in one line.
#[test]
fn a_share_that_falls_with_the_sections_is_reported() {
    let folder = bent(0.7);
    let config = folder.read("book.toml");
    folder.write("book.toml", config + "\n[beliefs.length]\nmean = 0.0\nsd = 0.000001\n");
    let document = folder.run(&["fit", "--json"]).json();
    let looked = document["left_over"].as_array().unwrap();
    let sections = looked.iter().find(|one| one["covariate"] == "sections").expect("sections");
    assert_eq!(sections["bent"], true, "{looked:?}");
    // A power of 0.7 takes off about 0.62·0.3·ln 2 = 0.13 for each doubling, near ten sections.
    let change = sections["slopes"][0]["change"].as_f64().unwrap();
    assert!((-0.17..-0.09).contains(&change), "{sections}");
    assert!(looked.iter().all(|one| one["covariate"] != "hardness"), "nothing varies there");
    let text = folder.run(&["fit"]).ends(0).out;
    let told: Vec<&str> =
        text.split("\n\n").filter(|part| part.contains("follow a pattern")).collect();
    assert_eq!(told.len(), 1, "{text}");
    assert!(told[0].starts_with("The errors follow a pattern: the share"), "{}", told[0]);
    let text = folder.run(&["fit", "--check"]).ends(0).out;
    assert!(text.starts_with("The errors follow a pattern: the share of the thread"), "{text}");
}

/// With its term, the fit absorbs the bend: nothing is left over, and the term is shown.
#[test]
fn what_the_fit_has_a_term_for_does_not_bend() {
    let folder = bent(0.9);
    let document = folder.run(&["fit", "--check", "--json"]).json();
    let looked = document["left_over"].as_array().unwrap();
    assert!(looked.iter().all(|one| one["bent"] == false), "{looked:?}");
    assert!(!folder.run(&["fit"]).ends(0).out.contains("follow a pattern"));
    let term = &document["check"]["terms"]["sections"];
    assert_eq!(*term, document["coefficients"]["length"]);
    assert!(term["q95"].as_f64().unwrap() < 0.0, "{term}");
    let text = folder.run(&["fit", "--check"]).ends(0).out;
    assert!(text.starts_with("No pattern found: the share"), "{text}");
    assert!(text.contains("(length)"), "{text}");
}

/// Leaving a trial out equals striking it: its weight gives its paper's factor in a book without
/// it.
#[test]
fn a_trials_weight_is_the_effect_of_striking_it() {
    let folder = demonstration();
    let document = folder.run(&["fit", "--check", "--json"]).json();
    let check = &document["check"];
    assert_eq!((&check["trials"], &check["refits"]), (&14.into(), &14.into()));
    let weights = check["weights"].as_array().unwrap();
    assert_eq!(weights.len(), 14);
    let size = |one: &Value| one["deviations"].as_f64().unwrap().abs();
    assert!(weights.windows(2).all(|pair| size(&pair[0]) >= size(&pair[1])));
    let (first, name) = (&weights[0], weights[0]["paper"].as_str().unwrap());
    let of_paper = |document: &Value| {
        let papers = document["papers"].as_array().unwrap();
        papers.iter().find(|paper| paper["paper"] == name).expect("its paper")["sewn"].clone()
    };
    let with = of_paper(&document);
    let trial = first["trial"].as_str().unwrap();
    folder.run(&["strike", "trial", trial, "--reason", "left out"]).ends(0);
    let without = of_paper(&folder.run(&["fit", "--json"]).json());
    let number = |value: &Value| value.as_f64().unwrap();
    assert_digits("with", number(&first["factor"]), number(&with["mean"]), 9.0);
    assert_digits("without", number(&first["without"]), number(&without["mean"]), 9.0);
    let moved = (number(&with["mean"]) - number(&without["mean"])) / number(&with["sd"]);
    assert_digits("moved", number(&first["deviations"]), moved, 8.0);
}

/// In these twelve books every belief is true. Chance makes more than three of them look bent, or
/// have left-out trials out of line, less than once in 500 times.
#[test]
fn no_bend_is_reported_in_a_sound_book() {
    let spoken: Vec<u64> = (1..=12)
        .filter(|&seed| {
            let (_dir, book) = on_disk(&Config::default(), believed(seed, 2, 2, 6));
            let bench = Bench::of(&book).expect("a fit");
            let found = check(&book, &bench, &mut |_, _| ()).expect("a check");
            assert!(!found.looked.is_empty() && found.checks.len() >= 2);
            found.looked.iter().any(|one| one.is_bent())
                || found.checks.iter().any(|one| one.is_out())
        })
        .collect();
    println!("sound books said to bend or be out: {spoken:?}");
    assert!(spoken.len() <= 3, "{spoken:?}");
}

#[test]
fn a_check_needs_three_trials_and_is_not_a_comparison() {
    let folder = demonstration();
    folder.run(&["fit", "--check", "--compare"]).ends(2).complains_of(&["--check"]);
    let text = folder.run(&["fit", "--check"]).ends(0);
    assert!(text.err.is_empty(), "{}", text.err);
    assert!(text.out.lines().all(|line| line.chars().count() <= 80), "{}", text.out);
    let sheet = folder.read("sheet.csv");
    let kept = |line: &&str| ["trial", "B01", "B12"].iter().any(|name| line.starts_with(name));
    let two = sheet.lines().filter(kept).collect::<Vec<_>>().join("\n") + "\n";
    let few = Folder::of_sheet(&two);
    few.run(&["fit", "--check"])
        .ends(4)
        .complains_of(&["predicting each trial from the others needs at least 3 trials"]);
    let document = few.run(&["fit", "--json"]).json();
    assert_eq!(document["left_over"], serde_json::json!([]));
}
