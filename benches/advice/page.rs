//! Formats the tables as a page.

use crate::Case;
use crate::support::advised::{Advised, Arm};
use std::fmt::Write as _;

const OPENING: &str = "\
# Whether the advice pays

Written by `cargo bench --bench advice -- --write`; change nothing here by hand.

Worlds are drawn from the starting beliefs, as for [how often the ranges hold](coverage.md). Each
has a book of two papers with two trials each, a third, untried paper, and three threads. A book of
16 to 28 sections is planned on any of the three papers, as sewn or knocked down.

Three binders start from the same readings and have the same minutes at the bench. They sew trial
blocks for this plan, from the same list, until the minutes are used up:

- *the advice*: the first block of `swellbook next` each time, with a new fit after each block;
- *random blocks*: any block;
- *small blocks like the plan*: ten sections of its paper, thread and sheets, as sewn and knocked
  down. A binder would do this without asking.

Then all predict the book.

*Miss* is the mean squared error of the predicted swell against one new sewing, in mm². It is the
squared error against the average of all sewings, plus the *floor*. The floor is the variance
between sewings, which trials cannot reduce. It is taken as known, so that its own noise does not
blur the table. *Over the floor* is the first part alone, in per cent of what it was before.
*Variance* is what the prediction says of itself, and should equal the miss. The last column is the
miss of the advice less that of the row, paired world by world: below zero the advice is nearer.
Errors are one standard error.
";

struct Mean {
    mean: f64,
    error: f64,
}

fn mean(worlds: &[&Advised], each: impl Fn(&Advised) -> f64) -> Mean {
    let values: Vec<f64> = worlds.iter().map(|world| each(world)).collect();
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let variance = values.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (count - 1.0);
    Mean { mean, error: (variance / count).sqrt() }
}

fn shown(mean: Mean) -> String {
    format!("{:.3} ± {:.3}", mean.mean, mean.error)
}

pub fn page(cases: &[Case]) -> String {
    let mut page = OPENING.to_owned();
    for case in cases {
        let _ = writeln!(page, "\n## {:.0} minutes\n", case.budget);
        let all: Vec<&Advised> = case.worlds.iter().collect();
        let (new, tried): (Vec<&Advised>, Vec<&Advised>) =
            case.worlds.iter().partition(|world| world.new_paper);
        for (what, worlds) in
            [("Any plan", all), ("Plans on a paper tried", tried), ("Plans on a new paper", new)]
        {
            page += &table(what, &worlds);
        }
        if case.refused > 0 {
            let _ = writeln!(page, "{} worlds were left out: a fit was refused.", case.refused);
        }
    }
    page += &announced(cases);
    page += &announced_odds(cases);
    page
}

fn table(what: &str, worlds: &[&Advised]) -> String {
    let floor = mean(worlds, |world| world.floor).mean;
    let before = mean(worlds, |world| world.before.miss).mean;
    let mut table = format!(
        "{what} ({} worlds, floor {floor:.3} mm²):\n\n| trials | minutes used | miss mm² | over the floor | variance mm² | the advice's miss less this |\n| --- | --- | --- | --- | --- | --- |\n",
        worlds.len()
    );
    let variance = shown(mean(worlds, |world| world.before.variance));
    let missed = shown(mean(worlds, |world| world.before.miss + world.floor));
    let _ = writeln!(table, "| none | 0 | {missed} | 100 % | {variance} | |");
    for arm in Arm::ALL {
        let spent = |world: &Advised| world.arms[arm as usize];
        let minutes = mean(worlds, |world| spent(world).minutes).mean;
        let missed = shown(mean(worlds, |world| spent(world).miss + world.floor));
        let over = 100.0 * mean(worlds, |world| spent(world).miss).mean / before;
        let variance = shown(mean(worlds, |world| spent(world).variance));
        let less = match arm {
            Arm::Advice => String::new(),
            Arm::Random | Arm::LikeThePlan => {
                shown(mean(worlds, |world| world.arms[0].miss - spent(world).miss))
            }
        };
        let words = arm.words();
        let _ = writeln!(
            table,
            "| {words} | {minutes:.0} | {missed} | {over:.0} % | {variance} | {less} |"
        );
    }
    table + "\n"
}

/// The best odds announced for the first block, beside the odds after it.
fn announced_odds(cases: &[Case]) -> String {
    let case = cases.iter().take(1).flat_map(|case| &case.worlds);
    let worlds: Vec<&Advised> = case.filter(|world| world.arms[0].odds.is_some()).collect();
    let of = |world: &Advised, at: usize| 100.0 * world.arms[0].odds.map_or(f64::NAN, |it| it[at]);
    let [before, said, came] = [0, 1, 2].map(|at| mean(&worlds, |world| of(world, at)).mean);
    let off = mean(&worlds, |world| of(world, 2) - of(world, 1));
    format!(
        "\nThe best odds of a swell of 22 to 28 % over all ways to sew those leaves were {before:.1} % on average\nbefore that block. They were announced as {said:.1} % after it, and came out as {came:.1} %: {:.1} ± {:.1}\npoints more than announced ({} worlds).\n",
        off.mean,
        off.error,
        worlds.len()
    )
}

/// The variance announced for the first block, beside the variance after it.
fn announced(cases: &[Case]) -> String {
    let firsts: Vec<(f64, f64)> = (cases.iter().take(1))
        .flat_map(|case| case.worlds.iter().filter_map(|world| world.arms[0].first))
        .collect();
    let count = firsts.len() as f64;
    let (said, came) = (
        firsts.iter().map(|first| first.0).sum::<f64>() / count,
        firsts.iter().map(|first| first.1).sum::<f64>() / count,
    );
    let ratios: Vec<f64> = firsts.iter().map(|(said, came)| came / said).collect();
    let mean = ratios.iter().sum::<f64>() / count;
    let variance = ratios.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (count - 1.0);
    let error = (variance / count).sqrt();
    format!(
        "\n## What was announced\n\nAfter the first advised block, the variance of the swell was announced as {said:.3} mm² on average\nand came out as {came:.3} mm²: world by world, {mean:.3} ± {error:.3} times as much. A trial also shows how much\nsewings and papers differ, which the announcement leaves out. In a single book the range may come out\nnarrower or wider.\n"
    )
}
