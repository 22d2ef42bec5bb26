//! What would reduce the uncertainty about a plan most.

use crate::model::{BudgetLine, Plan, Source};

/// A way to reduce the uncertainty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// Sew trial blocks of this paper.
    TryPaper(String),
    /// Sew trial blocks with this thread.
    TryThread(String),
    /// Measure the fore-edge of the folded block.
    MeasureForeEdge,
    /// Nothing helps before the sewing, because sewings differ.
    MeasureOnTheWay,
}

/// A remedy, and the share of the uncertainty that it addresses.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    pub remedy: Remedy,
    /// The share of the variance that it addresses, from 0 to 1.
    pub share: f64,
}

/// Picks the remedy with the largest share. Sources that the same trial blocks would reduce are
/// added up.
pub(crate) fn advise(plan: &Plan, budget: &[BudgetLine]) -> Advice {
    let sum = |sources: &[Source]| -> f64 {
        budget.iter().filter(|line| sources.contains(&line.source)).map(|line| line.share).sum()
    };
    let name = |pick: fn(&crate::model::Run) -> &crate::trade::Name| {
        plan.runs().iter().map(|run| pick(run).to_string()).collect::<Vec<_>>()
    };
    let (mut papers, mut threads) = (name(|run| &run.paper.name), name(|run| &run.thread.name));
    papers.dedup();
    threads.dedup();
    let choices = [
        (
            Remedy::TryPaper(papers.join(" and ")),
            sum(&[Source::Paper, Source::Coefficients, Source::Fold]),
        ),
        (Remedy::TryThread(threads.join(" and ")), sum(&[Source::Thread])),
        (Remedy::MeasureForeEdge, sum(&[Source::ForeEdge])),
        (
            Remedy::MeasureOnTheWay,
            sum(&[Source::Sewing, Source::Stage, Source::Knocking, Source::Hand]),
        ),
    ];
    choices
        .into_iter()
        .map(|(remedy, share)| Advice { remedy, share })
        .max_by(|a, b| a.share.total_cmp(&b.share))
        .unwrap_or(Advice { remedy: Remedy::MeasureOnTheWay, share: 0.0 })
}
