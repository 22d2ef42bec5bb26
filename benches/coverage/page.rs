//! The tables as a page.

use crate::Case;
use crate::simulated::{Extent, Kind, SPREADS};
use crate::tally::{Of, Share, calibration, coverage, over_books, uniform_p};
use std::fmt::Write as _;
use swellbook::model::Coefficient;

const NUMBERS: [(Of, f64); 4] =
    [(Of::Mm, 0.9), (Of::Mm, 0.5), (Of::Percent, 0.9), (Of::Percent, 0.5)];
/// What a 90 % and a 50 % range must hold in a world as believed.
const BARS: [(f64, f64); 2] = [(0.88, 0.92), (0.47, 0.53)];

fn shown(share: Share) -> String {
    format!("{:.1} ± {:.1}", 100.0 * share.share, 100.0 * share.error)
}

pub fn size(extent: Extent) -> String {
    let plural =
        |count, word| if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") };
    format!("{} × {}", plural(extent.papers, "paper"), plural(extent.trials_each, "trial"))
}

fn cells(case: &Case, kind: Option<usize>) -> String {
    let shares = NUMBERS.map(|(of, level)| shown(coverage(&case.outcomes, kind, of, level)));
    shares.join(" | ")
}

/// One line while the simulation runs.
pub fn progress(case: &Case) -> String {
    let books = case.outcomes.len() + case.refused;
    let each = 1e3 * case.time.as_secs_f64() / books as f64;
    let (size, cells, world) = (size(case.extent), cells(case, None), case.world);
    format!("{world:<36} {size:<20} {books} books, {each:.1} ms each: {cells}")
}

const OPENING: &str = "\
# How often the ranges hold

Written by `cargo bench --bench coverage -- --write`; change nothing here by hand.

Books are drawn from the starting beliefs themselves: spreads from their half-normals, coefficients
from their normals, papers, threads, sewings and stages from the spreads, the deviation of a reading
from its belief (0.10 mm with four degrees of freedom), the fore-edge's ratio from its own; readings
of two to four places are rounded to 0.01 mm. Each book is fitted, four new books are drawn from the
same truth, and it is counted how often the range holds their swell. Shares are in per cent with one
standard error. Source of the method: Talts and others (2018), arXiv:1804.06788.
";

/// The whole page.
pub fn page(believed: &[Case], others: &[Case]) -> String {
    let mut page = OPENING.to_owned();
    page += "\n## In a world as believed\n\nBar: a 90 % range holds 88 to 92 %, a 50 % range 47 to 53 %.\n\n";
    page += &believed_table(believed);
    page += &verdict(believed);
    page += "\n## Chances\n\nTargets of any kind, by the chance that they were given.\n\n";
    page += &chances(believed);
    page += "\n## Ranks\n\nThe share of the posterior below the true value is uniform where the posterior is right. The\nchance of ranks as uneven as these, by chi-square over 20 bins:\n\n";
    page += &ranks(believed);
    page += "\n## In a world that is not as believed\n\nAll four kinds of new book together. Sizes as above; \"out of line\" counts readings that the fit\nlet count less, for every book, and \"slips\" those that were bad.\n\n";
    page += &strange_table(others);
    page += &strange_kinds(others);
    page += &spoiled(others);
    page
}

fn believed_table(cases: &[Case]) -> String {
    let mut table = "| book | new book | 90 % mm | 50 % mm | 90 % of per cent | 50 % of per cent | books |\n| --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for case in cases {
        let books = case.outcomes.len();
        for (index, kind) in Kind::ALL.into_iter().enumerate() {
            let cells = cells(case, Some(index));
            let _ =
                writeln!(table, "| {} | {} | {cells} | {books} |", size(case.extent), kind.words());
        }
        let _ = writeln!(
            table,
            "| {} | all four | {} | {books} |",
            size(case.extent),
            cells(case, None)
        );
    }
    table
}

/// Whether every share meets its bar, and which do not.
fn verdict(cases: &[Case]) -> String {
    let (mut missed, mut count) = (Vec::new(), 0);
    for case in cases {
        for kind in (0..4).map(Some).chain([None]) {
            for (index, (of, level)) in NUMBERS.into_iter().enumerate() {
                let (low, high) = BARS[index % 2];
                let found = coverage(&case.outcomes, kind, of, level);
                count += 1;
                if !(low..=high).contains(&found.share) {
                    let words = kind.map_or("all four", |kind| Kind::ALL[kind].words());
                    missed.push(format!("{} ({words}): {}", size(case.extent), shown(found)));
                }
            }
        }
    }
    let refused: usize = cases.iter().map(|case| case.refused).sum();
    let refused = format!("The fit refused {refused} books for want of draws that count.");
    if missed.is_empty() {
        return format!("\nAll {count} shares meet their bar. {refused}\n");
    }
    format!(
        "\n{} of {count} shares miss their bar: {}. {refused}\n",
        missed.len(),
        missed.join("; ")
    )
}

fn chances(cases: &[Case]) -> String {
    let mut table =
        "| book | chance given | targets | mean chance | hit |\n| --- | --- | --- | --- | --- |\n"
            .to_owned();
    for case in cases {
        for (low, high) in [(0.0, 0.2), (0.2, 0.4), (0.4, 0.6), (0.6, 0.8), (0.8, 1.01)] {
            let Some((count, mean, hit)) = calibration(&case.outcomes, low, high) else { continue };
            let words = format!("{:.0} to {:.0}", 100.0 * low, (100.0_f64 * high).min(100.0));
            let (size, mean, hit) = (size(case.extent), 100.0 * mean, shown(hit));
            let _ = writeln!(table, "| {size} | {words} | {count} | {mean:.1} | {hit} |");
        }
    }
    table
}

fn ranks(cases: &[Case]) -> String {
    let spreads = SPREADS.map(|spread| format!("spread {}", spread.name()));
    let names = spreads.into_iter().chain(Coefficient::ALL.map(|each| each.name().to_owned()));
    let sizes: Vec<String> = cases.iter().map(|case| size(case.extent)).collect();
    let rule = vec!["---"; cases.len() + 1].join(" | ");
    let mut table = format!("| | {} |\n| {rule} |\n", sizes.join(" | "));
    let mut least: f64 = 1.0;
    let mut count = 0;
    for (index, name) in names.enumerate() {
        let mut row = Vec::new();
        for case in cases {
            let p = uniform_p(case.outcomes.iter().map(|outcome| outcome.shares[index]));
            least = least.min(p);
            count += 1;
            row.push(format!("{p:.3}"));
        }
        let _ = writeln!(table, "| {name} | {} |", row.join(" | "));
    }
    // The chance that the least of so many is as small as this.
    let of_least = 1.0 - (1.0 - least).powi(count);
    let _ = writeln!(
        table,
        "\nThe least of these {count} is {least:.4}; where all is uniform, the least is as small as that with\na chance of {of_least:.2}."
    );
    table
}

fn strange_table(cases: &[Case]) -> String {
    let mut table = "| world | book | 90 % mm | 50 % mm | 90 % of per cent | 50 % of per cent | sd, mm | miss, mm | slips | out of line | books | refused |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for case in cases {
        let mean = |each: fn(&crate::Outcome) -> f64| over_books(&case.outcomes, each).share;
        let width = mean(|outcome| outcome.width_mm);
        let miss = mean(|outcome| {
            outcome.held.iter().map(|h| (h.mean_mm - h.swell_mm).abs()).sum::<f64>() / 4.0
        });
        let slips = mean(|outcome| outcome.slips as f64);
        let out = mean(|outcome| outcome.down_weighted as f64);
        let _ = writeln!(
            table,
            "| {} | {} | {} | {width:.3} | {miss:.3} | {slips:.2} | {out:.2} | {} | {} |",
            case.world,
            size(case.extent),
            cells(case, None),
            case.outcomes.len(),
            case.refused
        );
    }
    table
}

fn strange_kinds(cases: &[Case]) -> String {
    let mut table =
        "\nWhere it falls: the 90 % range in mm by kind of new book.\n\n| world | book | "
            .to_owned();
    table += &Kind::ALL.map(Kind::words).join(" | ");
    table += " |\n| --- | --- | --- | --- | --- | --- |\n";
    for case in cases {
        let each: Vec<String> =
            (0..4).map(|kind| shown(coverage(&case.outcomes, Some(kind), Of::Mm, 0.9))).collect();
        let _ =
            writeln!(table, "| {} | {} | {} |", case.world, size(case.extent), each.join(" | "));
    }
    table
}

/// How far bad readings move the prediction for a paper that was tried: the same books with and
/// without their slips.
fn spoiled(cases: &[Case]) -> String {
    let mut table = "\n## What a bad reading does\n\nBooks with at least one slip, beside the same books without it: how far the mean of the prediction\nmoves, in mm, for a new book of a paper and thread that were tried; and how much wider it gets.\n\n| readings | book | books | median move | 90 % of moves under | root mean square | sd against clean |\n| --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for case in cases.iter().filter(|case| case.world.contains("bad reading")) {
        let clean = |other: &&Case| other.extent == case.extent && other.world == "as believed";
        let Some(clean) = cases.iter().find(clean).filter(|clean| clean.comparable(case)) else {
            continue;
        };
        let pairs = || case.outcomes.iter().zip(&clean.outcomes).filter(|pair| pair.0.slips > 0);
        let mut moves: Vec<f64> =
            pairs().map(|(a, b)| (a.held[0].mean_mm - b.held[0].mean_mm).abs()).collect();
        moves.sort_by(f64::total_cmp);
        let count = moves.len();
        let root = (moves.iter().map(|x| x * x).sum::<f64>() / count as f64).sqrt();
        let wider = pairs().map(|(a, b)| a.width_mm / b.width_mm).sum::<f64>() / count as f64;
        let _ = writeln!(
            table,
            "| {} | {} | {count} | {:.3} | {:.3} | {root:.3} | {wider:.3} |",
            case.world,
            size(case.extent),
            moves[count / 2],
            moves[count * 9 / 10]
        );
    }
    table
}
