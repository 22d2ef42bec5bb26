//! Every trial with its readings.

use crate::book::{Book, Config};
use crate::draw::html::{Block, PageTable, Part};
use crate::jobs::entries::text::trial_line;
use crate::terminal::number::{decimals_for_resolution, rounded};
use crate::trade::{Edge, Reading, State, Trial};

/// The trials in the order of the book.
pub(crate) fn part(book: &Book) -> Part {
    let mut blocks: Vec<Block> = Vec::new();
    for trial in book.trials() {
        blocks.push(Block::Heading(trial_line(trial, book.config())));
        blocks.extend((!trial.note.is_empty()).then(|| Block::Words(trial.note.clone())));
        blocks.push(readings(book, trial));
    }
    if blocks.is_empty() {
        blocks.push(Block::Words("No trial yet.".to_owned()));
    }
    Part { id: "trials", heading: "Every trial with its readings", blocks }
}

fn readings(book: &Book, trial: &Trial) -> Block {
    let own = |state: State| -> Vec<&Reading> {
        let here = |reading: &&Reading| reading.trial == trial.name && reading.state == state;
        book.readings().iter().filter(here).collect()
    };
    let config = book.config();
    let (spine, fore_edge) =
        (format!("spine, {}", config.unit), format!("fore-edge, {}", config.unit));
    let mut table = PageTable::new("", &["state", spine.as_str(), fore_edge.as_str()]);
    for state in State::ALL {
        let readings = own(state);
        if readings.is_empty() {
            continue;
        }
        let edge = |edge| lengths(&readings, edge, config);
        table.rows.push(vec![state.phrase().to_owned(), edge(Edge::Spine), edge(Edge::ForeEdge)]);
    }
    if table.rows.is_empty() {
        return Block::Words("Not measured yet.".to_owned());
    }
    Block::Table(table)
}

/// The readings of one edge, to the step of the gauge.
fn lengths(readings: &[&Reading], edge: Edge, config: &Config) -> String {
    let unit = config.unit;
    let decimals = decimals_for_resolution(config.resolution.mm() / unit.to_mm(1.0));
    let shown: Vec<String> = (readings.iter())
        .filter_map(|reading| reading.edge(edge))
        .map(|length| rounded(unit.count(length), decimals))
        .collect();
    shown.join(", ")
}
