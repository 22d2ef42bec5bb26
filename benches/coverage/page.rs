//! Formats the tables as a page.

use crate::Case;
use crate::ranks;
use crate::support::simulated::{Extent, Kind, LENGTHS};
use crate::tally::{Of, calibration, coverage};
use crate::tried::words;
use std::fmt::Write as _;

const NUMBERS: [(Of, f64); 4] =
    [(Of::Mm, 0.9), (Of::Mm, 0.5), (Of::Percent, 0.9), (Of::Percent, 0.5)];
/// The shares that a 90 % and a 50 % range must hold when the world matches the beliefs.
const BARS: [(f64, f64); 2] = [(0.88, 0.92), (0.47, 0.53)];

pub fn size(extent: Extent) -> String {
    let plural =
        |count, word| if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") };
    format!("{} × {}", plural(extent.papers, "paper"), plural(extent.trials_each, "trial"))
}

pub fn cells(case: &Case, kind: Option<usize>) -> String {
    let shares = NUMBERS.map(|(of, level)| coverage(&case.outcomes, kind, of, level).to_string());
    shares.join(" | ")
}

/// The line printed after each row of the simulation.
pub fn progress(case: &Case) -> String {
    let books = case.outcomes.len() + case.refused;
    let each = 1e3 * case.time.as_secs_f64() / books as f64;
    let (size, cells) = (size(case.extent), cells(case, None));
    let (world, blocks) = (case.world.words, words(case.blocks));
    format!("{world:<42} {size:<18} {blocks:<19} {books} books, {each:.1} ms each: {cells}")
}

pub const OPENING: &str = "\
# How often the ranges hold

Written by `cargo bench --bench coverage -- --write`; change nothing here by hand.

Books are drawn from the starting beliefs themselves. Spreads come from their half-normals,
coefficients from their normals, and papers, threads, sewings and stages from the spreads. The
deviation of a reading comes from its belief (0.10 mm with four degrees of freedom), the fore-edge
ratio from its own. Readings of two to four places are rounded to 0.01 mm. Trial blocks have 6 to 16
sections unless a row says otherwise, and one in five is sewn two-on.

Each book is fitted, and seven new books are drawn from the same truth. The tables show how often
the range holds their swell. Shares are in per cent with half of their 95 % interval. All rows of
one size have the same seeds. Source of the method: Talts and others (2018), arXiv:1804.06788.
";

/// The section on worlds that match the beliefs, without its heading.
pub fn section(believed: &[Case]) -> String {
    let mut page = "\nBar: a 90 % range holds 88 to 92 %, a 50 % range 47 to 53 %.\n\n".to_owned();
    page += &believed_table(believed);
    page += &verdict(believed);
    page += "\n## Chances\n\nTargets of any kind, by the chance that was predicted.\n\n";
    page + &chances(believed) + &ranks::section(believed)
}

fn believed_table(cases: &[Case]) -> String {
    let mut table = "| book | new book | 90 % mm | 50 % mm | 90 % of per cent | 50 % of per cent | books |\n| --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for case in cases {
        let books = case.outcomes.len();
        for (index, kind) in Kind::ALL.into_iter().enumerate() {
            let cells = cells(case, Some(index));
            let _ = writeln!(
                table,
                "| {} | {} | {cells} | {books} |",
                size(case.extent),
                kind.words(LENGTHS)
            );
        }
        let _ = writeln!(
            table,
            "| {} | all of them | {} | {books} |",
            size(case.extent),
            cells(case, None)
        );
    }
    table
}

/// How many shares miss their bar, and which.
fn verdict(cases: &[Case]) -> String {
    let (mut missed, mut count) = (Vec::new(), 0);
    for case in cases {
        for kind in (0..Kind::ALL.len()).map(Some).chain([None]) {
            for (index, (of, level)) in NUMBERS.into_iter().enumerate() {
                let (low, high) = BARS[index % 2];
                let found = coverage(&case.outcomes, kind, of, level);
                count += 1;
                if !(low..=high).contains(&found.share) {
                    let all = || "all of them".to_owned();
                    let words = kind.map_or_else(all, |kind| Kind::ALL[kind].words(LENGTHS));
                    missed.push(format!("{} ({words}): {found}", size(case.extent)));
                }
            }
        }
    }
    let refused: usize = cases.iter().map(|case| case.refused).sum();
    let refused = format!("The fit refused {refused} books because too few draws counted.");
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
            let (size, mean) = (size(case.extent), 100.0 * mean);
            let _ = writeln!(table, "| {size} | {words} | {count} | {mean:.1} | {hit} |");
        }
    }
    table
}
