//! Whether a simpler way predicts as well as the book's own fit.

use super::answer::{Compared, WayScore};
use super::answer_refit::Leaving;
use crate::model::compare::{Difference, Standing, Way};
use crate::terminal::number::{plural, ranged_length, rounded, signed};
use crate::units::LengthUnit;

/// Decimals of a log density: a difference of a tenth says which of two ways is better.
pub(crate) const DENSITY_DECIMALS: usize = 2;

/// Names the simpler ways that are better or as good, with the range of the difference. Compares
/// whole predictions first and then, for the rest, the miss alone.
pub(crate) fn standing(compared: &Compared, unit: LengthUnit) -> String {
    let rivals: Vec<WayScore> = (compared.ways.iter().filter_map(|way| way.score))
        .filter(|way| way.way != Way::Own && way.against_own.standing().is_some())
        .collect();
    if rivals.is_empty() {
        return String::new();
    }
    let density = |way: &WayScore| {
        let shown = |value| signed(rounded(value, DENSITY_DECIMALS));
        differs(way.way, "density", &way.against_own, shown)
    };
    let miss = |way: &WayScore| {
        let width = way.miss_against_own.standard_error.unwrap_or(0.0);
        let shown = |value| signed(ranged_length(value, width, unit));
        differs(way.way, &format!("miss in {unit}"), &way.miss_against_own, shown)
    };
    let stands = |way: &WayScore, at| way.against_own.standing() == Some(at);
    let list = |of: &dyn Fn(&WayScore) -> bool, words: &dyn Fn(&WayScore) -> String| {
        rivals.iter().filter(|way| of(way)).map(words).collect::<Vec<_>>().join("; ")
    };
    let better = list(&|way| stands(way, Standing::Better), &density);
    let even = list(&|way| stands(way, Standing::AsGood), &density);
    let near = |way: &WayScore| {
        // A smaller miss is better, so the way is behind only if its whole range is above zero.
        stands(way, Standing::Worse) && way.miss_against_own.standing() != Some(Standing::Better)
    };
    let near = list(&near, &miss);
    let sample = sample(compared);
    let sentences = [
        (better.as_str(), "Better than your own fit on these trials".to_owned()),
        (
            even.as_str(),
            format!("May be as good as your own fit ({sample} cannot tell them apart)"),
        ),
        (near.as_str(), format!("Worse by density; {sample} cannot tell by the miss alone")),
    ];
    let said = sentences.iter().filter(|(ways, _)| !ways.is_empty());
    let said: Vec<String> = said.map(|(ways, words)| format!("{words}: {ways}.")).collect();
    if better.is_empty() && even.is_empty() {
        let none = "No simpler way is as good as your own fit on these trials.".to_owned();
        return [vec![none], said].concat().join(" ");
    }
    said.join(" ")
}

/// The number of trials or papers that were left out in turn.
pub(crate) fn sample(compared: &Compared) -> String {
    match compared.leaving {
        Leaving::Trial => plural(compared.trials, "trial"),
        Leaving::Paper => plural(compared.papers, "paper"),
    }
}

fn differs(way: Way, what: &str, difference: &Difference, shown: impl Fn(f64) -> String) -> String {
    let range = difference.range.map_or_else(String::new, |range| {
        format!(", 95 % range {} to {}", shown(range.low), shown(range.high))
    });
    format!("{} ({what} {}{range})", way_words(way), shown(difference.mean))
}

pub(crate) fn way_words(way: Way) -> &'static str {
    match way {
        Way::Own => "your own fit",
        Way::Nominal => "nominal figures",
        Way::OneLine => "one straight line",
        Way::LinePerPaper => "a line per paper",
        Way::SharePerPaper => "a share per paper",
    }
}
