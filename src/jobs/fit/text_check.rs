//! What `fit --check` shows, and the line that `fit` adds if something bends.

use super::answer_bends::{Bend, Covariate, Looked, Per};
use super::answer_check::{Check, Checked, Influence};
use crate::model::compare::CheckKind;
use crate::model::mixed::Summary;
use crate::terminal::number::{plural, rounded, signed};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::table::{Align, Table};
use crate::terminal::words::{hanging, paragraphs, wrapped};

/// Decimals of a change of the share.
const DECIMALS: usize = 3;
/// Number of trials named as those that weigh most.
const MOST_NAMED: usize = 5;

/// One sentence if something bends.
pub(crate) fn bends_text(looked: &[Looked], width: usize) -> Option<String> {
    let worst = looked.iter().filter(|one| one.is_bent());
    let worst = worst.min_by(|a, b| a.adjusted.total_cmp(&b.adjusted))?;
    Some(wrapped(
        &format!("The errors follow a pattern: {} `fit --check` shows more.", bent(worst, looked)),
        width,
    ))
}

fn bent(one: &Looked, looked: &[Looked]) -> String {
    let size = |bend: &&Bend| (bend.slope.change / bend.slope.sd).abs();
    let largest = one.bends.iter().max_by(|a, b| size(a).total_cmp(&size(b)));
    let change = largest.map_or_else(String::new, |bend| format!(" ({})", bend_words(bend)));
    format!(
        "the share of the thread that shows changes with {} more than believed{change}; the \
         chance that a sound fit shows this is {}, over {} checks.",
        covariate_words(one.covariate),
        chance_in_figures(one.adjusted),
        looked.len()
    )
}

fn covariate_words(covariate: Covariate) -> &'static str {
    match covariate {
        Covariate::Sections => "the number of sections",
        Covariate::Sheets => "the sheets in a section",
        Covariate::Thread => "the thread's diameter",
        Covariate::Sewing => "sewing two-on",
        Covariate::Hardness => "the paper's hardness",
        Covariate::State => "the state",
        Covariate::Date => "the date",
        Covariate::Hand => "the hand",
    }
}

fn change(bend: &Bend) -> String {
    let [change, sd] = [bend.slope.change, bend.slope.sd].map(|value| rounded(value, DECIMALS));
    format!("{} \u{b1} {sd}", signed(change))
}

fn bend_words(bend: &Bend) -> String {
    format!("by {} {}", change(bend), per_words(&bend.per))
}

fn per_words(per: &Per) -> String {
    match per {
        Per::Doubling => "for each doubling".to_owned(),
        Per::WholeTime => "from the first day to the last".to_owned(),
        Per::Kind(kind) => format!("for {kind}"),
    }
}

/// The check: the answer first, then the tables behind it.
pub fn check_text(check: &Check, width: usize) -> String {
    let mut blocks = vec![wrapped(&answer(check), width)];
    if !check.looked.is_empty() {
        let opening = "How the share that shows changes, from the errors of trials left out:";
        let table = slopes(&check.looked).render(width);
        blocks.push(format!("{}\n{table}", wrapped(opening, width)));
    }
    blocks.extend(terms(check, width));
    let opening = "Errors of trials left out, in standard deviations of their predictions:";
    blocks.push(format!("{}\n{}", wrapped(opening, width), residuals(&check.checks).render(width)));
    blocks.push(wrapped(LEGEND, width));
    blocks.extend(weights(&check.weights, width));
    blocks.push(wrapped(&source(check), width));
    paragraphs(&blocks)
}

const LEGEND: &str = "\u{b1}: the standard deviation, including what the beliefs allow. \
                      chance: how often a sound fit gives a value so far out, in that check \
                      alone and in any of so many checks. If the second is under 5 %, it is \
                      reported as a pattern, or as out of line. A check that finds nothing does \
                      not show that there is nothing: a book of eight or sixteen trials shows \
                      only strong patterns.";

fn answer(check: &Check) -> String {
    let mut said: Vec<String> = Vec::new();
    let looked = &check.looked;
    for one in looked.iter().filter(|one| one.is_bent()) {
        said.push(format!("The errors follow a pattern: {}", bent(one, looked)));
    }
    if said.is_empty() && looked.is_empty() {
        let few = "Too few trials, or too much alike, to see whether the errors follow a pattern.";
        said.push(few.to_owned());
    } else if said.is_empty() {
        let names: Vec<&str> = looked.iter().map(|one| one.covariate.word()).collect();
        said.push(format!(
            "No pattern found: the share of the thread that shows changes no more than believed \
             with {}.",
            names.join(", ")
        ));
    }
    let out = check.checks.iter().filter(|one| one.is_out());
    let out: Vec<&str> = out.map(|one| kind_words(one.check.kind)).collect();
    said.push(match out.as_slice() {
        [] => "The errors of trials left out are as they should be.".to_owned(),
        out => {
            format!(
                "The errors of trials left out are not as they should be: look at the {}.",
                out.join(", ")
            )
        }
    });
    said.join(" ")
}

fn kind_words(kind: CheckKind) -> &'static str {
    match kind {
        CheckKind::Scatter => "mean square",
        CheckKind::Largest => "largest",
        CheckKind::Order => "neighbours in date",
    }
}

fn slopes(looked: &[Looked]) -> Table {
    let of = format!("in {} checks", looked.len());
    let mut table = Table::of(&["against", "change", ""], &["chance", &of]);
    for one in looked {
        for (at, bend) in one.bends.iter().enumerate() {
            let first = |text: String| if at == 0 { text } else { String::new() };
            table.row([
                first(one.covariate.word().to_owned()),
                change(bend),
                per_words(&bend.per),
                first(chance_in_figures(one.chance)),
                first(chance_in_figures(one.adjusted)),
            ]);
        }
    }
    table
}

/// The fit's own terms for the tested covariates.
fn terms(check: &Check, width: usize) -> Option<String> {
    let term = |(covariate, name, summary): &(Covariate, crate::model::Coefficient, Summary)| {
        let (low, high) = (rounded(summary.q05, DECIMALS), rounded(summary.q95, DECIMALS));
        let middle = rounded(summary.q50, DECIMALS);
        format!("{} {middle}, 90 % range {low} to {high} ({})", covariate.word(), name.name())
    };
    let terms: Vec<String> = check.terms.iter().map(term).collect();
    let text = format!(
        "The fit has terms of its own for some of these, and its predictions use them: {}.",
        terms.join("; ")
    );
    (!terms.is_empty()).then(|| wrapped(&text, width))
}

fn residuals(checks: &[Checked]) -> Table {
    let of = format!("in {} checks", checks.len());
    let mut table = Table::new(&[
        ("", Align::Left),
        ("found", Align::Right),
        ("sound", Align::Left),
        ("chance", Align::Right),
        (&of, Align::Right),
    ]);
    for Checked { check, adjusted } in checks {
        let sound = match check.kind {
            CheckKind::Scatter => "1; more: ranges too narrow, less: too wide",
            CheckKind::Largest => "2 to 3 for ten to a hundred trials",
            CheckKind::Order => "0; more: neighbours are alike",
        };
        table.row([
            kind_words(check.kind).to_owned(),
            rounded(check.value, 2),
            sound.to_owned(),
            chance_in_figures(check.chance),
            chance_in_figures(*adjusted),
        ]);
    }
    table
}

fn weights(weights: &[Influence], width: usize) -> Option<String> {
    let opening =
        "Trials that weigh most, by how far the factor of their paper as sewn moves without them:";
    let line = |one: &Influence| {
        let (with, without) = (rounded(one.factor, DECIMALS), rounded(one.without, DECIMALS));
        let moved = rounded(one.deviations.abs(), 1);
        let text = format!(
            "  {} ({}): {with}, without it {without}, which is {moved} standard deviations away",
            one.trial, one.paper
        );
        hanging(&text, width, 4)
    };
    let lines: Vec<String> = std::iter::once(wrapped(opening, width))
        .chain(weights.iter().take(MOST_NAMED).map(line))
        .collect();
    (!weights.is_empty()).then(|| lines.join("\n"))
}

fn source(check: &Check) -> String {
    let trials = plural(check.trials, "trial");
    if check.refits == check.trials {
        format!("{trials}, each left out in turn and predicted by a fit of the others.")
    } else {
        format!(
            "{trials}, left out in {} parts and predicted by a fit of the others.",
            check.refits
        )
    }
}
