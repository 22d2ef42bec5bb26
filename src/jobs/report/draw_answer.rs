//! The first part of a report: what can be planned, what to sew next, what is doubtful.

use super::answer_ready::{Prospects, Readiness};
use super::draw_content::BookReport;
use crate::book::{Book, Finding, Severity};
use crate::draw::html::{Block, Column, PageTable, Part};
use crate::jobs::compare::text::doubt;
use crate::jobs::next::answer_choice::TrialChoice;
use crate::jobs::plan_spec::answer_typical::TYPICAL;
use crate::jobs::plan_spec::text::sewing_words;
use crate::terminal::number::{length, plural, rounded};
use crate::terminal::words::{listed, percent_range};

/// The most papers named; the others are counted.
const NAMED: usize = 8;
/// The most findings shown; the others are counted.
const SHOWN: usize = 3;

/// The answer first, then what to sew, then the doubts, then the basis.
pub(crate) fn part(report: &BookReport<'_>) -> Part {
    let mut blocks = vec![Block::Answer(ready(report))];
    blocks.extend(typical_books(report));
    blocks.extend(next(report));
    blocks.extend(doubtful(report));
    blocks.push(Block::Words(holding(report.book)));
    Part { id: "answer", heading: "What this book can do", blocks }
}

/// The next step for a book without a measured trial.
pub(crate) fn start(report: &BookReport<'_>) -> Part {
    let (command, what) = match &report.first_step {
        Some((command, what)) => (command.clone(), *what),
        None => ("swellbook record readings".to_owned(), "what the gauge reads on a trial"),
    };
    let mut blocks = vec![
        Block::Answer(format!("Next: record {what}.")),
        Block::Command(command),
        Block::Words(
            "No sewing has been measured yet, so this book has nothing of its own to say. Once a \
             trial block is sewn and measured, this page shows what it taught."
                .to_owned(),
        ),
    ];
    let book = report.book;
    let is_empty = book.papers().is_empty() && book.threads().is_empty();
    blocks.extend((!is_empty).then(|| Block::Words(holding(book))));
    Part { id: "answer", heading: "Start here", blocks }
}

/// Names in a sentence: all if they are few, else the first and how many more.
fn few(names: &[&str]) -> String {
    match names.len().checked_sub(NAMED) {
        None | Some(0) => listed(names),
        Some(more) => format!("{} and {more} more", names[..NAMED].join(", ")),
    }
}

fn ready(report: &BookReport<'_>) -> String {
    let papers = &report.prospects.papers;
    let is_ready = papers.iter().filter(|paper| paper.is_ready());
    let names: Vec<&str> = is_ready.map(|paper| paper.paper.as_str()).collect();
    match (names.len(), papers.len()) {
        (0, _) => "No paper is ready to plan with yet.".to_owned(),
        (ready, all) if ready == all => format!("Ready to plan with: {}.", few(&names)),
        (ready, all) => format!("Ready to plan with: {} ({ready} of {all}).", few(&names)),
    }
}

/// A table of the predicted typical book of each paper, and whether the paper is ready.
fn typical_books(report: &BookReport<'_>) -> Vec<Block> {
    let Some(caption) = typical_words(report.prospects) else { return Vec::new() };
    let columns = vec![
        Column::words("paper"),
        Column::numbers("trials"),
        Column::numbers("swell, %"),
        Column::numbers("90 % range, %"),
        Column::words("to plan with"),
    ];
    let rows = report.prospects.papers.iter().map(typical_row);
    let table = PageTable::new(caption, columns, rows);
    let meaning = format!(
        "A paper is ready when it has been tried and the 90 % range of a typical book is not wider \
         than a usual target, {:.0} points (common practice, no source).",
        Readiness::ROOM
    );
    vec![Block::long(table, "All papers"), Block::Words(meaning)]
}

/// Which book is predicted for every paper, in the report and on the page; `None` without threads.
pub(crate) fn typical_words(prospects: &Prospects) -> Option<String> {
    let thread = prospects.thread.as_ref()?;
    let (sections, sheets) = TYPICAL;
    let hand = if prospects.new_hand { ", for a hand new to this book" } else { "" };
    Some(format!(
        "A typical book: {} of {} with {thread}, sewn all along, knocked down{hand}",
        plural(sections.into(), "section"),
        plural(sheets.into(), "sheet")
    ))
}

fn typical_row(paper: &Readiness) -> Vec<String> {
    let (middle, range) = percent_range(paper.swell.each());
    let ready = match (paper.is_ready(), paper.trials) {
        (true, _) => "ready",
        (false, 0) => "not tried yet",
        (false, _) => "not yet",
    };
    vec![paper.paper.to_string(), paper.trials.to_string(), middle, range, ready.to_owned()]
}

fn next(report: &BookReport<'_>) -> Vec<Block> {
    let blocks: Vec<String> = report.prospects.next.iter().map(block_words).collect();
    let heading = Block::Heading("Sew next".to_owned());
    match (blocks.is_empty(), &report.prospects.thread) {
        (false, _) => vec![heading, Block::List(blocks)],
        (true, None) => Vec::new(),
        (true, Some(_)) => vec![
            heading,
            Block::Words(
                "More trials would hardly narrow the prediction of any typical book. For a special \
                 book, ask \u{2018}swellbook next\u{2019} with its plan."
                    .to_owned(),
            ),
        ],
    }
}

/// `Quay laid: 16 sections of 5 sheets with flax 25/3 …`.
fn block_words(best: &TrialChoice) -> String {
    format!("{}: {}", best.block.run.paper.name, sewn_words(best))
}

/// `16 sections of 5 sheets with flax 25/3, sewn all along, measured …: about 48 minutes.`
pub(crate) fn sewn_words(best: &TrialChoice) -> String {
    let (run, sewing) = (&best.block.run, best.block.run.sewing);
    let states: Vec<&str> = best.block.states.iter().map(|state| state.phrase()).collect();
    format!(
        "{} of {} with {}, {}, measured {}: about {} minutes.",
        plural(sewing.sections().into(), "section"),
        plural(sewing.sheets().into(), "sheet"),
        run.thread.name,
        sewing_words(sewing),
        listed(&states),
        rounded(best.minutes, 0)
    )
}

fn doubtful(report: &BookReport<'_>) -> Vec<Block> {
    let is_doubt =
        |finding: &&Finding| finding.severity() == Severity::Check && !finding.is_of_an_edit();
    let edited = report.findings.iter().filter(|finding| finding.is_of_an_edit()).count();
    let edited = (edited > 0).then(|| {
        let were = if edited == 1 { "was" } else { "were" };
        let files = plural(edited, "file");
        Block::Words(format!("{files} {were} changed outside swellbook, listed below."))
    });
    let unit = report.book.config().unit;
    let mut found: Vec<String> =
        report.findings.iter().filter(is_doubt).map(|finding| finding.said(unit)).collect();
    found.extend(out_of_line(report));
    let heading = Block::Heading("Doubtful".to_owned());
    if found.is_empty() {
        let sound = Block::Words("Nothing in the book looks wrong.".to_owned());
        return [heading, sound].into_iter().chain(edited).collect();
    }
    let more = found.len().saturating_sub(SHOWN);
    let mut blocks = vec![heading, Block::List(found.into_iter().take(SHOWN).collect())];
    blocks.extend((more > 0).then(|| Block::Words(format!("And {more} more, listed below."))));
    blocks.extend(edited);
    blocks
}

/// The trials that the comparison finds out of line with the others and no finding names yet.
fn out_of_line(report: &BookReport<'_>) -> Vec<String> {
    let Some(compared) = report.compared else { return Vec::new() };
    let is_named = |name: &str| {
        let names = |finding: &Finding| {
            matches!(finding, Finding::Set { trial, .. } if trial.as_str() == name)
                && finding.severity() == Severity::Check
        };
        report.findings.iter().any(names)
    };
    let unit = report.book.config().unit;
    let others = compared.doubtful.iter().filter(|one| !is_named(&one.trial));
    others.map(|one| doubt(one, compared.trials, unit)).collect()
}

fn holding(book: &Book) -> String {
    let mut words = vec![format!(
        "The book holds {}, {}, {} and {}.",
        plural(book.papers().len(), "paper"),
        plural(book.threads().len(), "thread"),
        plural(book.trials().len(), "trial"),
        plural(book.readings().len(), "reading"),
    )];
    words.extend(span(book));
    words.push(format!(
        "Lengths are in {}; the gauge reads to {}.",
        book.config().unit,
        length(book.config().resolution, book.config())
    ));
    words.join(" ")
}

/// The dates of the first and the last sewing.
fn span(book: &Book) -> Option<String> {
    let dates = || book.trials().iter().filter_map(|trial| trial.date);
    let (first, last) = (dates().min()?, dates().max()?);
    Some(if first == last {
        format!("Sewn on {first}.")
    } else {
        format!("Sewn from {first} to {last}.")
    })
}
