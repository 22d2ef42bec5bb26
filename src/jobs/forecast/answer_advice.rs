//! What makes a plan uncertain, in whole per cents, and what would reduce that most.

use crate::model::{BudgetLine, Plan, Run, Source};
use crate::observe::Observations;
use crate::trade::Name;

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// Sew trial blocks of these papers; `is_first` if the only one was never tried.
    TryPaper {
        papers: Vec<String>,
        is_first: bool,
    },
    TryThread(Vec<String>),
    /// Say who sews, in a book of several hands.
    NameHand,
    TryHand,
    MeasureForeEdge,
    /// Nothing helps before the sewing, because sewings differ.
    MeasureOnTheWay,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    pub remedy: Remedy,
    /// The per cent of the variance that it addresses, as [`whole_percents`] counts them.
    pub percent: f64,
}

/// Picks the remedy with the largest share. Sources that the same trial blocks would reduce are
/// added up.
pub(crate) fn advise(plan: &Plan, budget: &[BudgetLine], all: &Observations) -> Advice {
    let papers = unique(plan, |run| &run.paper.name);
    let tried = |run: &Run| {
        all.sewn_trials().iter().any(|&trial| Some(all.trials[trial].paper) == run.paper.level)
    };
    let is_first = papers.len() == 1 && !plan.runs().iter().any(tried);
    let by_hand = if plan.hand.is_some() { Remedy::TryHand } else { Remedy::NameHand };
    let mut choices = vec![
        (
            Remedy::TryPaper { papers, is_first },
            vec![Source::Paper, Source::Coefficients, Source::Fold],
        ),
        (Remedy::TryThread(unique(plan, |run| &run.thread.name)), vec![Source::Thread]),
        (by_hand, vec![Source::Hand]),
        (Remedy::MeasureForeEdge, vec![Source::ForeEdge]),
    ];
    // A book of one section is finished when its first section is sewn.
    if plan.sections() > 1 {
        let differs = vec![Source::Sewing, Source::Stage, Source::Knocking];
        choices.push((Remedy::MeasureOnTheWay, differs));
    }
    let percents = whole_percents(budget);
    let advice = |(remedy, sources): (Remedy, Vec<Source>)| {
        let own = percents.iter().filter(|(source, _)| sources.contains(source));
        Advice { remedy, percent: own.map(|(_, percent)| percent).sum() }
    };
    choices
        .into_iter()
        .map(advice)
        .max_by(|a, b| a.percent.total_cmp(&b.percent))
        .unwrap_or(Advice { remedy: Remedy::MeasureForeEdge, percent: 0.0 })
}

/// The names in a plan, each once, in the order of its runs.
fn unique(plan: &Plan, name: fn(&Run) -> &Name) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for run in plan.runs() {
        let name = name(run).to_string();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// The sources in whole per cents, largest first. They add up as the shares do: those with the
/// largest remainders are rounded up. A share is negative if its error offsets those of others.
pub(crate) fn whole_percents(budget: &[BudgetLine]) -> Vec<(Source, f64)> {
    let exact: Vec<f64> = budget.iter().map(|line| 100.0 * line.share).collect();
    let mut whole: Vec<f64> = exact.iter().map(|percent| percent.floor()).collect();
    let missing = exact.iter().sum::<f64>().round() - whole.iter().sum::<f64>();
    let mut largest: Vec<usize> = (0..exact.len()).collect();
    largest.sort_by(|&one, &other| {
        let remainder = |at: usize| exact[at] - exact[at].floor();
        remainder(other).total_cmp(&remainder(one))
    });
    largest.iter().take(missing as usize).for_each(|&at| whole[at] += 1.0);
    largest.sort_by(|&one, &other| exact[other].total_cmp(&exact[one]));
    largest.into_iter().map(|at| (budget[at].source, whole[at])).collect()
}
