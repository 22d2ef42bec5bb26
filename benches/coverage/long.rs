//! Long new books, predicted from blocks of several lengths, in worlds where the length matters.

use crate::Case;
use crate::page::size;
use crate::support::simulated::{Held, Kind, LENGTHS, Lengths};
use crate::tally::{Of, coverage};
use crate::tried::words;
use std::fmt::Write as _;

/// The least share that a 90 % range must hold for a long book of a tried paper.
const BAR: f64 = 0.85;

const OPENING: &str = "
This is the usual case: short trial blocks, then a book of 24 or 40 sections, all along or two-on.
It is predicted knocked down, as `predict` does by default. The ranges are 90 % ranges in mm.

In each row below \"as believed\" one thing differs. *In proportion* means that the thread adds up in
proportion to the sections, two-on adds nothing but the thread that it saves, and all blocks are
hammered alike. The next four worlds are that one with one change; the powers have the same share at
ten sections. *Bias* is the distance from the truth to the mean of the prediction, in the middle of
the books. *Sd* is the width of the prediction. Both are in per cent of the truth.

";

/// Which world misses the bar, and what `predict` does about it.
const WHY: &str = "
If all spreads are twice as believed, a range that relies on the beliefs is too narrow. Eight trials
of two papers say little about how much papers, sewings and hammerings differ. `predict` therefore
gives a second range, under beliefs twice as wide; the row below that world shows this range. Under
Student-t(3) a sewing far out of line is many times as frequent as the model assumes.
";

/// The section, without its heading.
pub fn section(cases: &[Case]) -> String {
    OPENING.to_owned() + &table(cases, LENGTHS) + &verdict(cases)
}

/// One row for each case.
pub fn table(cases: &[Case], lengths: Lengths) -> String {
    let kinds = Kind::ALL.map(|kind| kind.words(lengths)).join(" | ");
    let mut table = format!(
        "| world | book | blocks | {kinds} | bias at {0} | bias at {1} | sd at {0} | sd at {1} | books | refused |\n| --- |{2}\n",
        lengths[0],
        lengths[1],
        " --- |".repeat(Kind::ALL.len() + 8)
    );
    for case in cases {
        let held = |kind| coverage(&case.outcomes, Some(kind), Of::Mm, 0.9).to_string();
        let shares: Vec<String> = (0..Kind::ALL.len()).map(held).collect();
        let of = |number, kind| middle(case, number, kind);
        let bias = |held: &Held| held.mean_mm / held.swell_mm - 1.0;
        let sd = |held: &Held| held.sd_mm / held.swell_mm;
        let _ = writeln!(
            table,
            "| {} | {} | {} | {} | {:+.1} | {:+.1} | {:.1} | {:.1} | {} | {} |",
            case.world.words,
            size(case.extent),
            words(case.blocks),
            shares.join(" | "),
            of(&bias, Kind::Long),
            of(&bias, Kind::VeryLong),
            of(&sd, Kind::Long),
            of(&sd, Kind::VeryLong),
            case.outcomes.len(),
            case.refused
        );
    }
    table
}

/// The median over the books of a figure of their new book of one kind, in per cent.
fn middle(case: &Case, number: &dyn Fn(&Held) -> f64, kind: Kind) -> f64 {
    let mut all: Vec<f64> =
        case.outcomes.iter().map(|book| number(&book.held[kind as usize])).collect();
    all.sort_by(f64::total_cmp);
    100.0 * all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Lists the long books of a tried paper that miss the bar.
fn verdict(cases: &[Case]) -> String {
    let mut missed = Vec::new();
    for case in cases {
        for kind in [Kind::Long, Kind::VeryLong, Kind::LongTwoOn] {
            let held = coverage(&case.outcomes, Some(kind as usize), Of::Mm, 0.9);
            if held.share < BAR {
                let (world, blocks) = (case.world.words, words(case.blocks));
                missed.push(format!("{world}, blocks {blocks}, {}: {held}", kind.words(LENGTHS)));
            }
        }
    }
    let bar = "\nBar: 85 % at least in every world, for each of the three long books.";
    let missed = match missed.is_empty() {
        true => format!("{bar} All meet it.\n"),
        false => format!("{bar} Missed:\n\n- {}\n", missed.join("\n- ")),
    };
    missed + WHY
}
