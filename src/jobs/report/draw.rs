//! The report: one page with everything that the book knows, for a phone, a desk and paper.

use super::draw_content::BookReport;
use super::draw_record::struck;
use super::{draw_papers, draw_proof, draw_trials};
use crate::book::Book;
use crate::draw::html::{Block, Figure, Page, PageError, PageKind, Part};
use crate::terminal::number::{length, plural};
use askama::Template;

/// The report as one HTML page that needs nothing else.
///
/// # Errors
/// [`PageError`].
pub fn report_html(report: &BookReport<'_>) -> Result<String, PageError> {
    let parts = vec![
        glance(report),
        draw_papers::part(report),
        pictures(report)?,
        draw_proof::part(report),
        doubts(report),
        draw_trials::part(report.book),
        how_to_read(),
    ];
    let title = report.book.config().title.clone();
    Ok(Page::new(PageKind::Report, title, report.made, parts).render()?)
}

/// What the book holds and how far it carries.
fn glance(report: &BookReport<'_>) -> Part {
    let book = report.book;
    let mut words = vec![format!(
        "{}, {}, {}, {}.",
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
    let mut blocks: Vec<Block> = vec![Block::Words(words.join(" "))];
    if report.learnt.trials == 0 {
        blocks.push(Block::Words(
            "No trial has been measured yet: everything below is common-practice belief. Sew a \
             small block, measure spine and fore-edge, knock it down and measure again."
                .to_owned(),
        ));
    }
    Part { id: "glance", heading: "The book at a glance", blocks }
}

/// From the first sewing to the last.
fn span(book: &Book) -> Option<String> {
    let dates = || book.trials().iter().filter_map(|trial| trial.date);
    let (first, last) = (dates().min()?, dates().max()?);
    Some(if first == last {
        format!("Sewn on {first}.")
    } else {
        format!("Sewn from {first} to {last}.")
    })
}

fn pictures(report: &BookReport<'_>) -> Result<Part, PageError> {
    let figures = report.charts.iter().map(|pair| Figure::of(pair).map(Block::Figure));
    let blocks = figures.collect::<Result<Vec<_>, _>>()?;
    Ok(Part { id: "charts", heading: "Charts", blocks })
}

fn doubts(report: &BookReport<'_>) -> Part {
    let mut blocks = vec![if report.findings.is_empty() {
        Block::Words("Nothing in the book is suspect.".to_owned())
    } else {
        let unit = report.book.config().unit;
        Block::List(report.findings.iter().map(|finding| finding.said(unit)).collect())
    }];
    blocks.extend(struck(report.book));
    Part { id: "doubts", heading: "Entries to look at again", blocks }
}

fn how_to_read() -> Part {
    let items = [
        "Swell is how much thicker the spine is than the fore-edge, in per cent of the fore-edge.",
        "The thread factor is the share of the thread's laid diameter that shows at the spine: the \
         rest sinks into the paper.",
        "A range in brackets is a 90 % range: one book in ten falls outside it.",
        "Nominal figures are what common practice says of any paper of this hardness, before \
         anything was tried.",
        "As sewn is straight from the sewing; knocked down is after the hammer.",
        "Needles, knives and hammers can injure you, and damage to an old book is permanent. The \
         rules of your workshop come first. Ask a conservator before you work on anything old or \
         valuable.",
    ];
    let blocks = vec![Block::List(items.into_iter().map(str::to_owned).collect())];
    Part { id: "reading", heading: "How to read this", blocks }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::html::PageTable;

    #[test]
    fn a_text_is_never_markup() {
        let blocks = vec![
            Block::Words("<script>alert(1)</script>".to_owned()),
            Block::List(vec!["a & b \"c\" 'd'".to_owned()]),
            Block::Table(PageTable {
                caption: "<b>".to_owned(),
                columns: vec!["<i>".to_owned()],
                rows: vec![vec!["<u>".to_owned()]],
            }),
        ];
        let part = Part { id: "x", heading: "X", blocks };
        let kind = PageKind::Report;
        let page =
            Page { kind, title: "<title>".to_owned(), made: String::new(), parts: vec![part] };
        let html = page.render().unwrap();
        for bad in ["<script", "<b>", "<i>", "<u>", "<title><title>"] {
            assert!(!html.contains(bad), "{bad} in {html}");
        }
        assert!(html.contains("a &#38; b") || html.contains("a &amp; b"), "{html}");
    }
}
