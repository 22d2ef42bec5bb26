//! Formats the tables as a page. Everything from the marker on is kept.

use crate::support::many_benches::Came;
use crate::tally::{At, Figure};
use crate::worlds::{Outcome, Start, TRIALS};
use crate::{Case, Run, answer};
use std::fmt::Write as _;
use swellbook::model::SwellSpread;

/// The heading of the part that this bench does not write.
const MARKER: &str = "\n## Past one machine\n";
const TEMPLATE: &str = include_str!("page.md");
/// A figure of one prediction, such as its miss.
type Number = fn(&Came) -> f64;

/// The part of the page that is kept.
pub fn kept(page: &str) -> &str {
    page.find(MARKER).map_or("", |at| &page[at..])
}

pub fn page(run: &Run) -> String {
    let tables = |table: fn(&Run, &Case) -> String| -> String {
        let of = |case| format!("\n### {}\n\n{}", headed(case), table(run, case));
        run.cases.iter().map(of).collect()
    };
    TEMPLATE
        .replace("{ANSWER}", answer::answer(run).trim_end())
        .replace("{BEFORE}", tables(before).trim())
        .replace("{AFTER}", tables(after).trim())
        .replace("{KNOWS}", knows(run).trim())
        .replace("{SCALES}", scales(run).trim())
        .replace("{DONE}", done(run).trim())
}

fn headed(case: &Case) -> String {
    let words = case.benches.words();
    let (first, rest) = words.split_at(1);
    format!("{}{rest}", first.to_uppercase())
}

fn row(table: &mut String, cells: &[String]) {
    let _ = writeln!(table, "| {} |", cells.join(" | "));
}

fn head(cells: &[&str]) -> String {
    format!("| {} |\n|{}\n", cells.join(" | "), " --- |".repeat(cells.len()))
}

/// The miss in per cent of the miss with common practice after as many trials.
pub fn of_nominal(worlds: &[Outcome], at: At, number: Number) -> Figure {
    let nominal = At { start: 0, ..at };
    Figure::over(worlds, |some| 100.0 * at.root(some, number) / nominal.root(some, number))
}

/// Root mean square miss.
pub fn root(worlds: &[Outcome], at: At, number: Number) -> Figure {
    Figure::over(worlds, |some| at.root(some, number))
}

/// How often the range of the swell in per cent holds.
pub fn held(worlds: &[Outcome], at: At, level: f64) -> Figure {
    Figure::over(worlds, |some| at.held(some, |came| came.share_percent, level))
}

fn before(run: &Run, case: &Case) -> String {
    let mut table = head(&[
        "a new bench starts from",
        "miss, points",
        "% of nominal",
        "mean miss, points",
        "miss, mm",
        "mean miss, mm",
        "of the average, points",
        "% of nominal",
        "90 % range holds, %",
        "50 % range holds, %",
        "90 % range in mm holds, %",
        "90 % range is wide, points",
    ]);
    for (start, of) in run.starts.iter().enumerate() {
        let (at, worlds) = (At { start, trials: 0 }, &case.worlds);
        let mean = |number: Number| Figure::over(worlds, |some| at.mean(some, number));
        let mm = Figure::over(worlds, |some| at.held(some, |came| came.share_mm, 0.9));
        let cells = [
            of.words(),
            root(worlds, at, |came| came.points).shown(2),
            of_nominal(worlds, at, |came| came.points).shown(0),
            mean(|came| came.points.abs()).shown(2),
            root(worlds, at, |came| came.mm).shown(2),
            mean(|came| came.mm.abs()).shown(2),
            root(worlds, at, |came| came.average_points).shown(2),
            of_nominal(worlds, at, |came| came.average_points).shown(0),
            held(worlds, at, 0.9).shown(1),
            held(worlds, at, 0.5).shown(1),
            mm.shown(1),
            mean(|came| came.width_points).shown(1),
        ];
        row(&mut table, &cells);
    }
    table
}

fn after(run: &Run, case: &Case) -> String {
    let mut table = head(&[
        "trials",
        "a new bench starts from",
        "miss, points",
        "% of nominal",
        "mean miss, points",
        "miss, mm",
        "90 % range holds, %",
        "50 % range holds, %",
        "90 % range is wide, points",
    ]);
    for (trials, count) in TRIALS.iter().enumerate().skip(1) {
        for (start, of) in run.starts.iter().enumerate() {
            let (at, worlds) = (At { start, trials }, &case.worlds);
            let mean = |number: Number| Figure::over(worlds, |some| at.mean(some, number));
            let cells = [
                count.to_string(),
                of.words(),
                root(worlds, at, |came| came.points).shown(2),
                of_nominal(worlds, at, |came| came.points).shown(0),
                mean(|came| came.points.abs()).shown(2),
                root(worlds, at, |came| came.mm).shown(2),
                held(worlds, at, 0.9).shown(1),
                held(worlds, at, 0.5).shown(1),
                mean(|came| came.width_points).shown(1),
            ];
            row(&mut table, &cells);
        }
    }
    table
}

/// The mean over worlds of a number of one start.
fn start_mean(worlds: &[Outcome], number: impl Fn(&Outcome) -> f64) -> Figure {
    let mean =
        |some: &[&Outcome]| some.iter().map(|world| number(world)).sum::<f64>() / some.len() as f64;
    Figure::over(worlds, mean)
}

fn knows(run: &Run) -> String {
    let mut table = head(&[
        "world",
        "starts from",
        "distance",
        "factor: believed sd",
        "factor: distance",
        "count less, %",
        "named, %",
    ]);
    for case in &run.cases {
        for (start, of) in run.starts.iter().enumerate() {
            let knows = |world: &Outcome| world.starts[start].knows;
            let square = |world: &Outcome| knows(world).factor_off.powi(2);
            let off = Figure::over(&case.worlds, |some| {
                (some.iter().map(|world| square(world)).sum::<f64>() / some.len() as f64).sqrt()
            });
            let outlying = |which: usize| match of {
                Start::Pool(size) => {
                    let share = |world: &Outcome| {
                        100.0 * world.starts[start].outlying[which] as f64 / *size as f64
                    };
                    start_mean(&case.worlds, share).shown(2)
                }
                Start::Nothing | Start::Truth => String::new(),
            };
            let cells = [
                case.benches.words().to_owned(),
                of.words(),
                start_mean(&case.worlds, |world| knows(world).distance).shown(2),
                start_mean(&case.worlds, |world| knows(world).factor_sd).shown(3),
                off.shown(3),
                outlying(0),
                outlying(1),
            ];
            row(&mut table, &cells);
        }
    }
    table
}

/// The scales of the spreads in the pools of the first kind of world.
fn scales(run: &Run) -> String {
    let mut cells = vec!["spread".to_owned()];
    let pools = |start: &Start| matches!(start, Start::Pool(_));
    cells.extend(run.starts.iter().filter(|start| pools(start)).map(|start| start.words()));
    let mut table = head(&cells.iter().map(String::as_str).collect::<Vec<_>>());
    for spread in SwellSpread::ALL {
        let mut cells = vec![format!("`{}`", spread.name())];
        for (start, _) in run.starts.iter().enumerate().filter(|(_, start)| pools(start)) {
            let scale = |world: &Outcome| world.starts[start].knows.scales[spread as usize];
            cells.push(start_mean(&run.cases[0].worlds, scale).shown(2));
        }
        row(&mut table, &cells);
    }
    table
}

/// How much was simulated, how many fits were refused, and the minutes of the run.
fn done(run: &Run) -> String {
    let mut text = format!(
        "- In each world {} new benches predict six books before their first trial, and {} of them\n  after trials. The worlds of each kind:\n",
        run.new_benches.before, run.new_benches.after
    );
    for case in &run.cases {
        let _ = writeln!(text, "  - {}: {}", case.benches.words(), case.worlds.len());
    }
    let refused = |which: usize| -> usize {
        let all = run.cases.iter().flat_map(|case| &case.worlds);
        all.map(|world| world.refused[which]).sum()
    };
    let _ = writeln!(
        text,
        "- Books that the fit refused: {} of pooled benches, {} of new ones. The run took {:.0} minutes.",
        refused(0),
        refused(1),
        run.minutes
    );
    text
}
