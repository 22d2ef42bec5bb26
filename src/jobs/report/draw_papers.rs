//! What was learnt of each paper and thread.

use super::draw_content::BookReport;
use crate::draw::html::{Block, PageTable, Part};
use crate::jobs::fit::answer::{KnownFactor, LearntPaper};
use crate::model::mixed::Summary;
use crate::terminal::number::{ranged_length, rounded};
use crate::trade::State;

/// A factor, or what takes some of it out, with its range.
fn ranged(summary: &Summary) -> String {
    format!("{} ({})", rounded(summary.q50, 2), range(summary))
}

fn range(summary: &Summary) -> String {
    format!("{} to\u{a0}{}", rounded(summary.q05, 2), rounded(summary.q95, 2))
}

fn known(paper: &LearntPaper, state: State) -> Option<&KnownFactor> {
    paper.factors.iter().find(|factor| factor.state == state)
}

/// The papers, then the threads.
pub(crate) fn part(report: &BookReport<'_>) -> Part {
    let mut blocks = vec![Block::Words(
        "The thread factor of each paper, not boned, ten sections sewn all along, about as deep as \
         the thread is thick; its 90 % range is in brackets."
            .to_owned(),
    )];
    blocks.push(Block::Table(papers(&report.learnt.papers)));
    blocks.push(Block::Words(
        "The same range knocked down, and what it is if things vary twice as much as believed. The \
         starting beliefs have no source: where the second is much wider, the paper leans on them \
         and needs more trials."
            .to_owned(),
    ));
    blocks.push(Block::Table(doubled(&report.learnt.papers)));
    blocks.push(Block::Table(threads(report)));
    Part { id: "papers", heading: "What was learnt", blocks }
}

fn papers(papers: &[LearntPaper]) -> PageTable {
    let columns = ["paper", "trials", "as sewn", "knocked down", "nominal, knocked down"];
    let mut table = PageTable::new("Papers", &columns);
    for paper in papers {
        let factor = |state| known(paper, state).map_or(String::new(), |k| ranged(&k.factor));
        let knocked = known(paper, State::Knocked);
        let nominal = knocked.map(|factor| ranged(&factor.nominal));
        table.rows.push(vec![
            format!("{} ({})", paper.paper, paper.hardness),
            paper.trials.to_string(),
            factor(State::Sewn),
            factor(State::Knocked),
            nominal.unwrap_or_default(),
        ]);
    }
    table
}

/// The factors knocked down beside their ranges under beliefs twice as wide.
fn doubled(papers: &[LearntPaper]) -> PageTable {
    let columns = ["paper", "90 % range", "if twice as much"];
    let mut table = PageTable::new("Leaning on beliefs", &columns);
    for paper in papers {
        let knocked = known(paper, State::Knocked);
        let wider = knocked.and_then(|factor| factor.wider);
        table.rows.push(vec![
            paper.paper.clone(),
            knocked.map_or(String::new(), |factor| range(&factor.factor)),
            wider.as_ref().map_or(String::new(), range),
        ]);
    }
    table
}

fn threads(report: &BookReport<'_>) -> PageTable {
    let unit = report.book.config().unit;
    let laid = format!("laid diameter, {unit}");
    let columns = ["thread", "trials", laid.as_str(), "adds to the factor"];
    let mut table = PageTable::new("Threads", &columns);
    for thread in &report.learnt.threads {
        table.rows.push(vec![
            thread.thread.clone(),
            thread.trials.to_string(),
            ranged_length(thread.laid_mm, 0.1, unit),
            ranged(&thread.effect),
        ]);
    }
    table
}
