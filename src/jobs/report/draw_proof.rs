//! How far the book can be trusted: predictions and forecasts against measurements, the hand, and
//! the readings.

use super::draw_content::BookReport;
use super::draw_record::{drift, track};
use crate::draw::html::{Block, Column, PageTable, Part};
use crate::jobs::compare::answer::{Compared, WayScore};
use crate::jobs::compare::text::{answer, doubt};
use crate::jobs::compare::text_standing::{standing, way_words};
use crate::jobs::study::answer::GaugeReport;
use crate::jobs::study::text::answers;
use crate::model::compare::Proportion;
use crate::terminal::number::ranged_length;
use crate::units::LengthUnit;

/// The comparison, the track record, the hand, then the gauge.
pub(crate) fn part(report: &BookReport<'_>) -> Part {
    let unit = report.book.config().unit;
    let mut blocks = vec![Block::Heading("Predictions against measurements".to_owned())];
    blocks.extend(predictions(report.compared, unit));
    blocks.extend(report.charts.agreement.clone().map(Block::Figure));
    blocks.push(Block::Heading("Kept forecasts and their outcomes".to_owned()));
    blocks.extend(track(&report.learnt.track));
    blocks.push(Block::Heading("Whether your hand is steady".to_owned()));
    blocks.push(drift(report.learnt));
    if report.learnt.history.points.len() > 1 {
        blocks.push(Block::Figure(report.charts.history.clone()));
    }
    blocks.push(Block::Heading("How repeatable the readings are".to_owned()));
    blocks.extend(repeated(report.gauge, unit));
    Part { id: "evidence", heading: "How far to trust it", blocks }
}

pub(crate) fn repeated(gauge: Option<&GaugeReport>, unit: LengthUnit) -> Vec<Block> {
    match gauge {
        Some(gauge) => answers(gauge, unit).into_iter().map(Block::Words).collect(),
        None => vec![Block::Words(
            "Nothing was measured twice in one state yet: take two or three readings at each edge."
                .to_owned(),
        )],
    }
}

pub(crate) fn predictions(compared: Option<&Compared>, unit: LengthUnit) -> Vec<Block> {
    let Some(compared) = compared else {
        let few = "Each trial is left out in turn and predicted from the others. This needs three \
                   trials; there are not enough yet.";
        return vec![Block::Words(few.to_owned())];
    };
    let mut blocks = vec![Block::Words(answer(compared, unit))];
    let standing = standing(compared, unit);
    blocks.extend((!standing.is_empty()).then_some(Block::Words(standing)));
    blocks.push(Block::Table(ways(compared, unit)));
    let doubts = compared.doubtful.iter().map(|one| doubt(one, compared.trials, unit));
    let doubts: Vec<String> = doubts.collect();
    if !doubts.is_empty() {
        blocks.push(Block::Words("Out of line with the others:".to_owned()));
        blocks.push(Block::List(doubts));
    }
    blocks
}

fn ways(compared: &Compared, unit: LengthUnit) -> PageTable {
    let missed = format!("missed by, {unit}");
    let columns = Column::of(&["predicted by"], &[&missed, "90 % range held"]);
    let row = |WayScore { way, score, .. }: WayScore| {
        let (Proportion { count, of, .. }, miss) = (score.held, score.mean_miss_mm);
        let held = format!("{count} of {of}");
        vec![way_words(way).to_owned(), ranged_length(miss, miss, unit), held]
    };
    let scored = compared.ways.iter().filter_map(|way| way.score);
    PageTable::new("Each trial left out in turn", columns, scored.map(row))
}
