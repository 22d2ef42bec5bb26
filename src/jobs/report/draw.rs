//! The report: one page with everything that the book knows, for a phone, a desk and print.

use super::draw_card_words::WORKSHOP;
use super::draw_content::BookReport;
use super::draw_record::struck;
use super::{draw_answer, draw_papers, draw_proof, draw_trials};
use crate::book::Finding;
use crate::draw::html::{Block, Fold, OPEN_ROWS, Page, PageError, Part};
use crate::terminal::number::plural;
use askama::Template;

/// The report as one self-contained HTML page.
pub fn report_html(report: &BookReport<'_>) -> Result<String, PageError> {
    let has_trials = report.learnt.trials > 0;
    let answer = if has_trials { draw_answer::part } else { draw_answer::start };
    let mut parts = vec![answer(report)];
    parts.extend(in_mind(report));
    if has_trials {
        parts.extend([draw_papers::part(report), draw_proof::part(report)]);
    }
    parts.extend(doubts(report));
    if !report.trials.is_empty() {
        parts.push(draw_trials::part(report.book, report.trials));
    }
    if has_trials {
        parts.push(how_to_read());
    }
    let title = report.book.config().title.clone();
    Ok(Page::new(title, report.made, parts).render()?)
}

/// The ways to sew the book of `--in-mind`.
fn in_mind(report: &BookReport<'_>) -> Option<Part> {
    let blocks = vec![Block::Figure(report.charts.in_mind.clone()?)];
    Some(Part { id: "in-mind", heading: "The book you have in mind", blocks })
}

/// Entries to look at again, and struck entries; `None` if there are neither.
fn doubts(report: &BookReport<'_>) -> Option<Part> {
    let unit = report.book.config().unit;
    let (edits, suspects): (Vec<&Finding>, Vec<&Finding>) =
        report.findings.iter().partition(|finding| finding.is_of_an_edit());
    let mut said: Vec<String> =
        suspects.into_iter().chain(edits).map(|finding| finding.said(unit)).collect();
    let more = said.split_off(said.len().min(OPEN_ROWS));
    let mut blocks = Vec::new();
    blocks.extend((!said.is_empty()).then_some(Block::List(said)));
    blocks.extend((!more.is_empty()).then(|| {
        let summary = format!("{} more", plural(more.len(), "entry"));
        Block::Fold(Fold { summary, open: false, blocks: vec![Block::List(more)] })
    }));
    blocks.extend(struck(report.book));
    let part = Part { id: "doubts", heading: "Entries to look at again", blocks };
    (!part.blocks.is_empty()).then_some(part)
}

fn how_to_read() -> Part {
    let items = [
        "Swell is how much thicker the spine is than the fore-edge, in per cent of the fore-edge.",
        "The thread factor is the share of the thread's laid diameter that shows at the spine: the \
         rest sinks into the paper.",
        "A range in brackets is a 90 % range: one book in ten falls outside it.",
        "Nominal figures are what the starting beliefs say about any paper of this hardness, \
         before any trial.",
        "As sewn is straight from the sewing; knocked down is after the hammer.",
        WORKSHOP,
    ];
    let blocks = vec![Block::List(items.into_iter().map(str::to_owned).collect())];
    Part { id: "reading", heading: "How to read this", blocks }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::html::{Column, PageTable};

    #[test]
    fn a_text_is_never_markup() {
        let table = PageTable {
            caption: "<b>".to_owned(),
            columns: vec![Column::words("<i>"), Column::words("\"><i>")],
            rows: vec![vec!["<u>".to_owned(), "<u>".to_owned()]],
        };
        let folded = Fold {
            summary: "<s>".to_owned(),
            open: false,
            blocks: vec![Block::Command("<script>alert(2)</script>".to_owned())],
        };
        let blocks = vec![
            Block::Words("<script>alert(1)</script>".to_owned()),
            Block::List(vec!["a & b \"c\" 'd'".to_owned()]),
            Block::Table(table),
            Block::Fold(folded),
        ];
        let part = Part { id: "x", heading: "X", blocks };
        let made = jiff::civil::date(2026, 1, 5);
        let html = Page::new("<title></style>".to_owned(), made, vec![part]).render().unwrap();
        for bad in ["<script>alert", "<b>", "<i>", "<u>", "<s>", "<title><title>"] {
            assert!(!html.contains(bad), "{bad} in {html}");
        }
        assert_eq!(html.matches("</style>").count(), 1);
        assert!(html.contains("a &#38; b") || html.contains("a &amp; b"), "{html}");
    }
}
