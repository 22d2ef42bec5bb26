//! What was learnt about each paper and thread.

use super::draw_content::BookReport;
use crate::draw::html::{Block, Column, Fold, PageTable, Part};
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::beliefs::text_grounds::{heading, source_words};
use crate::jobs::fit::answer::{KnownFactor, Learnt, LearntPaper, LearntThread};
use crate::model::mixed::Summary;
use crate::terminal::number::{ranged_length, rounded};
use crate::trade::State;
use crate::units::LengthUnit;

fn range(summary: &Summary) -> String {
    format!("{} to\u{a0}{}", rounded(summary.q05, 2), rounded(summary.q95, 2))
}

fn known(paper: &LearntPaper, state: State) -> Option<&KnownFactor> {
    paper.factors.iter().find(|factor| factor.state == state)
}

/// The papers with their charts, then the threads.
pub(crate) fn part(report: &BookReport<'_>) -> Part {
    let (learnt, unit) = (report.learnt, report.book.config().unit);
    let blocks = vec![
        Block::Words(FACTOR.to_owned()),
        Block::long(papers(learnt), "All papers"),
        Block::Words(wider_words(&learnt.grounds)),
        Block::Figure(report.charts.factors.clone()),
        Block::Figure(report.charts.knockdown.clone()),
        of_threads(learnt, unit),
    ];
    Part { id: "papers", heading: "Papers and threads", blocks }
}

pub(crate) const FACTOR: &str = "The thread factor of each paper: the share of the thread that shows. \
                                 It is for folds not boned, ten sections sewn all along, about as \
                                 deep as the thread is thick.";
/// Explains the column `if twice as wide`.
fn wider_words(grounds: &Grounds) -> String {
    format!(
        "If twice as wide: the range knocked down if things vary twice as much as believed. If it \
         is much wider, the paper leans on the starting beliefs, {}, and needs more trials.",
        source_words(grounds)
    )
}

pub(crate) fn of_threads(learnt: &Learnt, unit: LengthUnit) -> Block {
    Block::long(threads(learnt, unit), "All threads")
}

fn papers(learnt: &Learnt) -> PageTable {
    let numbers = [
        "trials",
        "as sewn",
        "90 % range, as sewn",
        "knocked down",
        "90 % range, knocked down",
        "if twice as wide",
        &heading(&learnt.grounds),
    ];
    let columns = Column::of(&["paper", "hardness"], &numbers);
    PageTable::new("Papers", columns, learnt.papers.iter().map(|paper| cells(paper).to_vec()))
}

/// The table of papers with fewer columns, for a narrow page.
pub(crate) fn narrow(learnt: &Learnt) -> PageTable {
    let numbers = ["trials", "as sewn", "knocked down", &heading(&learnt.grounds)];
    let columns = Column::of(&["paper"], &numbers);
    let row = |paper: &LearntPaper| {
        let [name, _, trials, sewn, sewn_range, knocked, knocked_range, _, nominal] = cells(paper);
        let both = |middle: String, range: String| format!("{middle} ({range})");
        let (sewn, knocked) = (both(sewn, sewn_range), both(knocked, knocked_range));
        vec![name, trials, sewn, knocked, nominal]
    };
    let caption = "The share of the thread that shows, with 90 % ranges";
    PageTable::new(caption, columns, learnt.papers.iter().map(row))
}

/// How far each paper leans on the starting beliefs, folded away.
pub(crate) fn leaning(learnt: &Learnt) -> Block {
    let columns = Column::of(&["paper"], &["knocked down", "if twice as wide"]);
    let row = |paper: &LearntPaper| {
        let [name, .., range, wider, _] = cells(paper);
        vec![name, range, wider]
    };
    let table = PageTable::new("", columns, learnt.papers.iter().map(row));
    let blocks = vec![Block::Words(wider_words(&learnt.grounds)), Block::Table(table)];
    let summary = "How far each paper leans on the starting beliefs".to_owned();
    Block::Fold(Fold { summary, open: false, blocks })
}

fn cells(paper: &LearntPaper) -> [String; 9] {
    let of = |state, show: &dyn Fn(&KnownFactor) -> String| {
        known(paper, state).map(show).unwrap_or_default()
    };
    let middle = |known: &KnownFactor| rounded(known.factor.q50, 2);
    let spread = |known: &KnownFactor| range(&known.factor);
    let wider = |known: &KnownFactor| known.wider.as_ref().map(range).unwrap_or_default();
    [
        paper.paper.clone(),
        paper.hardness.to_string(),
        paper.trials.to_string(),
        of(State::Sewn, &middle),
        of(State::Sewn, &spread),
        of(State::Knocked, &middle),
        of(State::Knocked, &spread),
        of(State::Knocked, &wider),
        of(State::Knocked, &|known| range(&known.nominal)),
    ]
}

fn threads(learnt: &Learnt, unit: LengthUnit) -> PageTable {
    let diameter = format!("laid diameter, {unit}");
    let numbers = ["trials", &diameter, "adds to the factor", "90 % range"];
    let columns = Column::of(&["thread"], &numbers);
    let row = |thread: &LearntThread| {
        vec![
            thread.thread.clone(),
            thread.trials.to_string(),
            ranged_length(thread.laid_mm, 0.1, unit),
            rounded(thread.effect.q50, 2),
            range(&thread.effect),
        ]
    };
    PageTable::new("Threads", columns, learnt.threads.iter().map(row))
}
