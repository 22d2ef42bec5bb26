//! The fit of three small books, compared with long runs of a general-purpose sampler.
//! tests/reference/SAMPLER.md says how the runs were made.

use crate::support::random_books::{name, on_disk};
use crate::support::{number, repository, rows};
use swellbook::book::{Book, Config, Entries, SheetOptions, read_sheet};
use swellbook::model::mixed::Summary;
use swellbook::model::{Beliefs, Plan, PlannedPaper, PlannedThread, Run, SwellFit};
use swellbook::observe::{Observations, observe};
use swellbook::trade::Sewing;

/// The error allowed for the engine's own draws, in standard deviations: of a mean, of a quantile.
const ENGINE: (f64, f64) = (0.02, 0.05);
/// Standard errors of the sampler allowed in addition. Some two hundred numbers are compared.
const ERRORS: f64 = 3.0;

pub fn imported(sheet: &str) -> (tempfile::TempDir, Book) {
    let path = format!("datasets/sampler/{sheet}.csv");
    let text = std::fs::read(repository(&path)).expect("the sheet");
    let sheet = read_sheet(&text, &path, &SheetOptions::default()).expect("a sheet");
    let (dir, mut book) = on_disk(&Config::default(), Entries::default());
    let plan = book.plan_import(&sheet).expect("a plan");
    book.append(plan.entries).expect("the book takes it");
    (dir, book)
}

/// The plan of a row of datasets/sampler/plans.csv.
pub fn planned(row: &[String], all: &Observations) -> Plan {
    let whole = |field: &str| field.parse::<u16>().expect("a whole number");
    let paper = PlannedPaper {
        name: name(&row[1]),
        level: all.papers.iter().position(|paper| paper.name.as_str() == row[1]),
        hardness: row[2].parse().expect("a hardness"),
        caliper_mm: number(&row[3]),
    };
    let thread = PlannedThread {
        name: name(&row[4]),
        level: all.threads.iter().position(|thread| thread.name.as_str() == row[4]),
        diameter_mm: number(&row[5]),
    };
    let (sections, sheets, on, ends) =
        (whole(&row[6]), whole(&row[7]), whole(&row[8]), whole(&row[9]));
    let sewing = Sewing::new(sections, sheets, on as u8, ends).expect("a sewing");
    let state = row[11].parse().expect("a state");
    let run = Run { paper, thread, sewing, boned: row[10] == "yes" };
    Plan::new(vec![run], state).expect("a plan")
}

/// Every compared quantity, by its name in sampler.csv.
fn found(fit: &SwellFit, plan: &Plan) -> Vec<(String, Summary)> {
    let spreads = fit.spreads().into_iter();
    let spreads =
        spreads.map(|(spread, summary, _)| (format!("spread {}", spread.name()), summary));
    let coefficients = fit.coefficients().into_iter();
    let coefficients =
        coefficients.map(|(each, mixture)| (each.name().to_owned(), mixture.summary()));
    let swell = ("swell".to_owned(), fit.predict(plan).swell.summary());
    spreads.chain(coefficients).chain([swell]).collect()
}

#[test]
fn the_fit_agrees_with_a_general_sampler() {
    let theirs = rows("tests/reference/sampler.csv");
    let (mut compared, mut far) = (0, Vec::new());
    for plan in rows("datasets/sampler/plans.csv") {
        let (_dir, book) = imported(&plan[0]);
        let all = observe(&book).expect("observations");
        assert!(all.down_weighted.is_empty(), "the sampler weighs all readings the same");
        let fit = SwellFit::new(&all, &Beliefs::default()).expect("a fit");
        for (quantity, ours) in found(&fit, &planned(&plan, &all)) {
            let here = |row: &&Vec<String>| row[0] == plan[0] && row[1] == quantity;
            let row = theirs.iter().find(here).unwrap_or_else(|| panic!("no {quantity}"));
            let value = |column: usize| number(&row[column]);
            let pairs = [(ours.mean, 2), (ours.q05, 4), (ours.q50, 5), (ours.q95, 6)];
            for (place, (ours, column)) in pairs.into_iter().enumerate() {
                let engine = if place == 0 { ENGINE.0 } else { ENGINE.1 };
                let off = (ours - value(column)).abs() / value(3);
                let error = value(7 + place) / value(3);
                compared += 1;
                if off > engine + ERRORS * error {
                    far.push(format!(
                        "{} {quantity} {column}: {off:.3} sd, error {error:.4}",
                        plan[0]
                    ));
                }
            }
        }
    }
    assert_eq!(compared, 3 * 18 * 4);
    assert!(far.is_empty(), "{far:#?}");
}
