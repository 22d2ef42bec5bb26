//! Books of any kind in worlds that differ from the beliefs, and the effect of bad readings.

use crate::Case;
use crate::page::{cells, size};
use crate::support::simulated::{Kind, LENGTHS};
use crate::tally::{Of, coverage, over_books, over_kinds};
use std::fmt::Write as _;

const OPENING: &str = "
All kinds of new book together. Sizes are as above, with the same seeds in every row of a size. \"Out
of line\" counts the readings of each book that the fit gave less weight, \"slips\" those that were
bad.

";

/// The section, without its heading.
pub fn section(cases: &[Case]) -> String {
    OPENING.to_owned() + &table(cases) + &kinds(cases) + &spoiled(cases)
}

fn table(cases: &[Case]) -> String {
    let mut table = "| world | book | 90 % mm | 50 % mm | 90 % of per cent | 50 % of per cent | sd, mm | miss, mm | slips | out of line | books | refused |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for case in cases {
        let mean = |each: fn(&crate::Outcome) -> f64| over_books(&case.outcomes, each).share;
        let sd = mean(|outcome| outcome.mean_sd_mm);
        let miss = mean(|outcome| over_kinds(outcome, |h| (h.mean_mm - h.swell_mm).abs()));
        let slips = mean(|outcome| outcome.slips as f64);
        let out = mean(|outcome| outcome.down_weighted as f64);
        let _ = writeln!(
            table,
            "| {} | {} | {} | {sd:.3} | {miss:.3} | {slips:.2} | {out:.2} | {} | {} |",
            case.world.words,
            size(case.extent),
            cells(case, None),
            case.outcomes.len(),
            case.refused
        );
    }
    table
}

fn kinds(cases: &[Case]) -> String {
    let mut table = "\nThe 90 % range in mm by kind of new book:\n\n| world | book | ".to_owned();
    table += &Kind::ALL.map(|kind| kind.words(LENGTHS)).join(" | ");
    table += &format!(" |\n| --- |{}\n", " --- |".repeat(Kind::ALL.len() + 1));
    for case in cases {
        let share = |kind| coverage(&case.outcomes, Some(kind), Of::Mm, 0.9).to_string();
        let each: Vec<String> = (0..Kind::ALL.len()).map(share).collect();
        let _ = writeln!(
            table,
            "| {} | {} | {} |",
            case.world.words,
            size(case.extent),
            each.join(" | ")
        );
    }
    table
}

/// How far bad readings move the prediction for a tried paper: the same books with and without
/// their slips.
fn spoiled(cases: &[Case]) -> String {
    let mut table = "\n## What a bad reading does\n\nBooks with at least one slip are compared with the same books without it. The table shows how far\nthe mean of the prediction moves, in mm, for a new book of a paper and thread that were tried. The\nlast column shows how much wider it gets.\n\n| readings | book | books | median move | 90 % of moves under | root mean square | sd against clean |\n| --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for case in cases.iter().filter(|case| case.world.name.starts_with("slips")) {
        let clean = |other: &&Case| other.extent == case.extent && other.world.name == "believed";
        let Some(clean) = cases.iter().find(clean).filter(|clean| clean.comparable(case)) else {
            continue;
        };
        let pairs = || case.outcomes.iter().zip(&clean.outcomes).filter(|pair| pair.0.slips > 0);
        let mut moves: Vec<f64> =
            pairs().map(|(a, b)| (a.held[0].mean_mm - b.held[0].mean_mm).abs()).collect();
        moves.sort_by(f64::total_cmp);
        let count = moves.len();
        let root = (moves.iter().map(|x| x * x).sum::<f64>() / count as f64).sqrt();
        let wider = pairs().map(|(a, b)| a.mean_sd_mm / b.mean_sd_mm).sum::<f64>() / count as f64;
        let _ = writeln!(
            table,
            "| {} | {} | {count} | {:.3} | {:.3} | {root:.3} | {wider:.3} |",
            case.world.words,
            size(case.extent),
            moves[count / 2],
            moves[count * 9 / 10]
        );
    }
    table
}
