//! The beliefs before the first trial, as tables and sentences.

use super::answer::{Believed, Offered, Set, Shown};
use super::answer_grounds::Origin;
use super::text_grounds::{benches, grounds_words, origin_words};
use super::text_names::{coefficient_words, spread_words};
use crate::model::{Coefficient, SwellSpread};
use crate::terminal::number::{plural, ranged_length, rounded};
use crate::terminal::table::Table;
use crate::terminal::words::{paragraphs, percent_range, wrapped};
use crate::units::LengthUnit;

const COMMON: &str = "common practice";
const MEANING: &str = "A belief is a mean with its standard deviation in brackets: the truth is \
                       expected within one standard deviation of the mean with 68 % chance, within \
                       two with 95 %. factor is the share of a thread's laid diameter that shows at \
                       the spine; the beliefs listed before fold are added to it. fold is the swell \
                       of a section without thread. A spread says how much things are expected to \
                       differ.";

/// The book's beliefs, beside common practice and the offered set.
pub(super) fn shown_text(shown: &Shown, unit: LengthUnit, width: usize) -> String {
    let pool = shown.grounds.pool.as_ref();
    let when = pool
        .map_or_else(String::new, |origin| format!(" The pool was chosen on {}.", origin.chosen));
    let first = format!("This book starts from {}.{when}", grounds_words(&shown.grounds));
    let mut blocks = vec![wrapped(&first, width)];
    blocks.extend(shown.offered.as_ref().map(|offered| wrapped(&offered_line(offered), width)));
    blocks.push(beliefs_table(shown, width));
    blocks.push(spreads_table(&sets(shown), width));
    blocks.push(wrapped(&example_line(shown, unit), width));
    blocks.push(wrapped(MEANING, width));
    paragraphs(&blocks)
}

fn offered_line(offered: &Offered) -> String {
    let Some(origin) = &offered.origin else {
        return format!("Offered: {COMMON}, without a source.");
    };
    let between = offered.set.coefficients.iter().find_map(|(name, belief)| match name {
        Coefficient::Factor => belief.between,
        _ => None,
    });
    let differ = between.map_or_else(String::new, |between| {
        format!(
            " Benches differ in the share of the thread that shows by a standard deviation of {}.",
            rounded(between, 2)
        )
    });
    let trials = plural(usize::try_from(origin.trials).unwrap_or(usize::MAX), "trial");
    format!("Offered: {}, from {trials}.{differ}", origin_words(origin))
}

/// The sets to show, each with its column heading.
fn sets(shown: &Shown) -> Vec<(String, &Set)> {
    let mut sets =
        vec![("this book".to_owned(), &shown.now), (COMMON.to_owned(), &shown.common_practice)];
    // Common practice already has a column.
    let with_origin = shown.offered.as_ref().filter(|offered| offered.origin.is_some());
    let origin = with_origin.and_then(|offered| Some((offered, offered.origin.as_ref()?)));
    sets.extend(origin.map(|(offered, origin)| (benches(origin), &offered.set)));
    sets
}

fn table(first: &str, sets: &[(String, &Set)]) -> Table {
    let names: Vec<&str> = sets.iter().map(|(name, _)| name.as_str()).collect();
    Table::of(&["", first], &names)
}

fn beliefs_table(shown: &Shown, width: usize) -> String {
    let sets = sets(shown);
    let mut table = table("belief", &sets);
    for (at, (coefficient, _)) in shown.now.coefficients.iter().enumerate() {
        let own = [coefficient.name(), coefficient_words(*coefficient)].map(str::to_owned);
        let beliefs =
            sets.iter().map(|(_, set)| belief_cell(*coefficient, &set.coefficients[at].1));
        table.row(own.into_iter().chain(beliefs));
    }
    table.render(width)
}

/// A fold swells by hundredths of a millimetre, or less.
pub(crate) fn decimals(coefficient: Coefficient) -> usize {
    match coefficient {
        Coefficient::Fold | Coefficient::FoldKnocked => 3,
        _ => 2,
    }
}

pub(crate) fn belief_cell(coefficient: Coefficient, belief: &Believed) -> String {
    let [mean, sd] = [belief.mean, belief.sd].map(|value| rounded(value, decimals(coefficient)));
    format!("{mean} ({sd})")
}

/// The spreads of these sets, each with its column heading.
pub(crate) fn spreads_table(sets: &[(String, &Set)], width: usize) -> String {
    let mut table = table("spread", sets);
    for (at, spread) in SwellSpread::ALL.into_iter().enumerate() {
        let own = [spread.name(), spread_words(spread)].map(str::to_owned);
        let scales = sets.iter().map(|(_, set)| rounded(set.spreads[at].1, 3));
        table.row(own.into_iter().chain(scales));
    }
    table.render(width)
}

fn example_line(shown: &Shown, unit: LengthUnit) -> String {
    let each = sets(shown).into_iter().map(|(name, set)| {
        let (middle, range) = percent_range(set.example.each());
        format!("{name} {middle} % (90 % range {range} %)")
    });
    let each: Vec<String> = each.collect();
    format!("Swell of a typical book, {}: {}.", example_words(shown, unit), each.join("; "))
}

pub(crate) fn example_words(shown: &Shown, unit: LengthUnit) -> String {
    let each = shown.example.runs().iter().map(|run| {
        let [sections, sheets] = [run.sewing.sections(), run.sewing.sheets()];
        // Both are known to a hundredth of a millimetre.
        let [leaf, thread] = [run.paper.caliper_mm, run.thread.diameter_mm]
            .map(|mm| format!("{} {unit}", ranged_length(mm, 0.1, unit)));
        format!(
            "{} of {}, medium paper of {leaf}, thread of {thread}, sewn all along",
            plural(sections.into(), "section"),
            plural(sheets.into(), "sheet")
        )
    });
    let each: Vec<String> = each.collect();
    format!("{}, {}", each.join(", "), shown.example.state.phrase())
}

pub(super) fn chosen_line(from: &str, back: &str) -> String {
    format!("this book now starts from {from} (to undo: {back})")
}

/// Where to find the file that starts the book from an earlier pool again.
pub(super) fn file_words(origin: &Origin) -> String {
    format!("; FILE is the earlier pool, made {}, from {}", origin.made, origin.file)
}

/// What to know about a pool in a book that has trials already.
pub(super) const OWN_TRIALS: &str = "note: if a summary of this book is in the pool, its trials count \
                                     twice: in these beliefs and by themselves";

pub(super) fn same_line(from: &str) -> String {
    format!("this book already starts from {from}; nothing was changed")
}

pub(super) fn unchosen_line(command: &str) -> String {
    format!("nothing was changed; to start the book from these beliefs: {command}")
}
