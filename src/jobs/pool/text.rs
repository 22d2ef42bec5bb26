//! The text of `pool`.

use super::answer::{Apart, PoolAnswer, Same};
use crate::jobs::beliefs::answer::Set;
use crate::jobs::beliefs::text::{belief_cell, decimals, example_words, spreads_table};
use crate::jobs::beliefs::text_names::coefficient_words;
use crate::model::{Coefficient, Off};
use crate::terminal::number::{counted, rounded};
use crate::terminal::table::Table;
use crate::terminal::words::{hanging, paragraphs, percent_range, wrapped};
use crate::units::LengthUnit;

const COMMON: &str = "common practice";
/// Between these ratios, benches differ about as much as common practice assumes.
const ABOUT: (f64, f64) = (0.75, 1.33);
/// A bench that differs by more than this share of a thread contradicts its own beliefs.
const FARTHEST: f64 = 0.5;
/// The most benches and duplicate files listed.
const LISTED: usize = 20;

/// The answer first, then how much benches differ, which of them do not fit, and all beliefs.
pub(super) fn pool_text(answer: &PoolAnswer, width: usize) -> String {
    let mut blocks =
        vec![wrapped(&first_line(answer), width), wrapped(&example_line(answer), width)];
    if answer.benches > 1 {
        blocks.push(wrapped(&differ_line(answer), width));
        blocks.push(apart_block(&answer.apart, width));
    } else {
        blocks.push(wrapped(ALONE, width));
    }
    blocks.extend(same_block(&answer.same, width));
    let sets = [&answer.common_practice, &answer.beliefs];
    let heads = [COMMON.to_owned(), counted(answer.benches, "bench")];
    blocks.push(beliefs_table(answer, width));
    blocks.push(spreads_table(&heads.into_iter().zip(sets).collect::<Vec<_>>(), width));
    blocks.push(wrapped(MEANING, width));
    paragraphs(&blocks)
}

const ALONE: &str =
    "One bench cannot show how much benches differ; that still rests on common practice.";

const MEANING: &str = "The last column shows how much of a belief's standard deviation comes from \
                       differences between benches. The mean of what no bench has tried stays as \
                       in common practice.";

fn factor(set: &Set) -> String {
    let factor = set.coefficients.iter().find(|(name, _)| *name == Coefficient::Factor);
    factor.map_or_else(String::new, |(_, belief)| {
        format!("{} ± {}", rounded(belief.mean, 2), rounded(belief.sd, 2))
    })
}

fn first_line(answer: &PoolAnswer) -> String {
    format!(
        "At a new bench {} of a thread's thickness should show at the spine; {COMMON} says {}. This \
         rests on {} with {}.",
        factor(&answer.beliefs),
        factor(&answer.common_practice),
        counted(answer.benches, "bench"),
        counted(answer.trials, "trial"),
    )
}

fn example_line(answer: &PoolAnswer) -> String {
    let range = |set: &Set| {
        let (middle, range) = percent_range(set.example.each());
        format!("{middle} % (90 % range {range} %)")
    };
    let within = answer.first_prediction_within;
    format!(
        "Swell of a typical book before any trial, {}: {}; {COMMON} says {}. So the first \
         prediction is within {} percentage points in 90 % of cases, instead of {}.",
        example_words(&answer.shown, LengthUnit::Millimetre),
        range(&answer.beliefs),
        range(&answer.common_practice),
        rounded(within.pool, 1),
        rounded(within.common_practice, 1),
    )
}

fn differ_line(answer: &PoolAnswer) -> String {
    let differ = answer.factor_differs;
    let ratio = differ.found / differ.believed;
    let how = match (ratio < ABOUT.0, ratio > ABOUT.1) {
        (true, _) => "less than",
        (_, true) => "more than",
        _ => "about as much as",
    };
    format!(
        "Benches differ {how} {COMMON} assumes: by a standard deviation of {} in the share of the \
         thread that shows, where it assumes {}.",
        rounded(differ.found, 2),
        rounded(differ.believed, 2),
    )
}

fn apart_block(apart: &[Apart], width: usize) -> String {
    if apart.is_empty() {
        return "All benches fit each other.".to_owned();
    }
    let first = match apart.len() {
        1 => "One bench does not fit the others:".to_owned(),
        count => format!("{count} benches do not fit the others:"),
    };
    let mut lines = vec![first];
    lines.extend(apart.iter().take(LISTED).map(|one| item(&apart_words(one), width)));
    if apart.len() > LISTED {
        lines.push(item(&format!("and {} more (--json lists all)", apart.len() - LISTED), width));
    }
    lines.push(wrapped(WHAT_NOW, width));
    lines.join("\n")
}

const WHAT_NOW: &str = "Ask what is done differently there: another way to measure, or a slip. To pool \
                        without a bench, leave its file out.";

fn item(text: &str, width: usize) -> String {
    hanging(&format!("  {text}"), width, 4)
}

fn apart_words(apart: &Apart) -> String {
    let odd = apart.odd.iter().map(odd_words);
    let spreads = apart.spreads.iter().map(|name| format!("how much {name} differs is unusual"));
    let what: Vec<String> = odd.chain(spreads).collect();
    let what =
        if what.is_empty() { "it is far from the others".to_owned() } else { what.join("; ") };
    let weight = match apart.weight < 1.0 {
        true => format!(" It is given a weight of {}.", rounded(apart.weight, 2)),
        false => String::new(),
    };
    format!("{}: {what}.{weight}", apart.file)
}

fn odd_words(odd: &Off) -> String {
    let (by, way) = (odd.by.abs(), if odd.by > 0.0 { "higher" } else { "lower" });
    // So far out, a summary says which way but not how far: its figure is extrapolated.
    let by = if by > FARTHEST { "far".to_owned() } else { rounded(by, decimals(odd.coefficient)) };
    format!(
        "{} ({}) is {by} {way} than elsewhere ({} standard deviations)",
        odd.coefficient.name(),
        coefficient_words(odd.coefficient),
        rounded(odd.deviations.abs(), 1),
    )
}

fn same_block(same: &[Same], width: usize) -> Option<String> {
    if same.is_empty() {
        return None;
    }
    let mut lines = vec!["The same summary counts once:".to_owned()];
    let words = |one: &Same| item(&format!("{} says the same as {}", one.file, one.same_as), width);
    lines.extend(same.iter().take(LISTED).map(words));
    if same.len() > LISTED {
        lines.push(item(&format!("and {} more", same.len() - LISTED), width));
    }
    Some(lines.join("\n"))
}

fn beliefs_table(answer: &PoolAnswer, width: usize) -> String {
    let pool = counted(answer.benches, "bench");
    let mut table = Table::of(&["", "belief"], &[COMMON, &pool, "between"]);
    let sets = answer.common_practice.coefficients.iter().zip(&answer.beliefs.coefficients);
    for ((name, common), (_, pooled)) in sets {
        let between = pooled.between.map_or_else(String::new, |sd| rounded(sd, decimals(*name)));
        let cells = [belief_cell(*name, common), belief_cell(*name, pooled), between];
        let own = [name.name(), coefficient_words(*name)].map(str::to_owned);
        table.row(own.into_iter().chain(cells));
    }
    table.render(width)
}

pub(super) fn wrote(answer: &PoolAnswer) -> String {
    format!("wrote what {} learnt", counted(answer.benches, "bench"))
}

pub(super) fn use_it(path: &str) -> String {
    format!(
        "to start a book from it: swellbook init DIR --beliefs {path}; in a book that exists: \
         swellbook beliefs --from {path}"
    )
}

pub(super) const ONLY_SHOWN: &str = "nothing was written; to write the pool: --out pool.toml";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_beyond_what_is_possible_is_not_given() {
        let words =
            |by: f64| odd_words(&Off { coefficient: Coefficient::Factor, by, deviations: 9.0 });
        assert!(words(-1.74).contains(" is far lower than elsewhere (9"), "{}", words(-1.74));
        assert!(words(0.12).contains(" is 0.12 higher than elsewhere (9"), "{}", words(0.12));
    }
}
