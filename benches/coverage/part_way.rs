//! How often ranges hold the finished book after a part of it was measured.

use crate::simulated_partway::{Outcome, simulated};
use crate::support::simulated::{Extent, World};
use crate::tally::Share;
use crate::{extent, on_every_core};
use std::fmt::Write as _;
use swellbook::model::Beliefs;

const OPENING: &str = "
Books are as believed. For each, one new book is sewn to between a quarter and three quarters of its
sections. The part is measured as sewn (in 70 %) or as the finished book will be, at two to four
places to 0.01 mm. The book is then fitted again with it. Half of the new books have a second run of
an untried paper. *Sd* is that of the finished swell in mm, beside that of a new sewing of the same
plan, on average.

| book | 90 % mm | 50 % mm | 90 % of per cent | 50 % of per cent | sd | books |
| --- | --- | --- | --- | --- | --- | --- |
";
const SIZES: [Extent; 3] = [extent(1, 1), extent(1, 4), extent(4, 4)];
/// Differs from the seeds of the other tables.
const SEEDS: u64 = 20_270_301;

/// The share of the prediction below the truth.
type ShareOf = fn(&Outcome) -> f64;

/// Which share to count, in mm or in per cent, with the level of its range.
const NUMBERS: [(ShareOf, f64); 4] = [
    (|one| one.share_mm, 0.9),
    (|one| one.share_mm, 0.5),
    (|one| one.share_percent, 0.9),
    (|one| one.share_percent, 0.5),
];

/// The share of `outcomes` that the middle `level` of the prediction holds, with its interval.
fn held(outcomes: &[Outcome], share: ShareOf, level: f64) -> String {
    let inside = outcomes.iter().filter(|one| (share(one) - 0.5).abs() <= 0.5 * level).count();
    Share::of(inside, outcomes.len()).to_string()
}

/// The section, from `books` simulated books of each size.
pub fn section(books: u64) -> String {
    let mut text = OPENING.to_owned();
    for (size, place) in SIZES.into_iter().zip(0_u64..) {
        let (world, beliefs) = (World::default(), Beliefs::default());
        let one = |book| simulated(world, &beliefs, SEEDS + 1_000_000 * place + book, size);
        let outcomes = on_every_core(books, one);
        let cells = NUMBERS.map(|(share, level)| held(&outcomes, share, level));
        let ratio = outcomes.iter().map(|one| one.sd_after_mm / one.sd_anew_mm).sum::<f64>();
        let _ = writeln!(
            text,
            "| {} | {} | {:.2} | {books} |",
            crate::page::size(size),
            cells.join(" | "),
            ratio / outcomes.len() as f64
        );
    }
    text
}
