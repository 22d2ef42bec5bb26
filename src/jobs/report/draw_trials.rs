//! Every trial with its swell and readings, by paper.

use super::answer_trials::{Measured, PaperTrials, TrialSwell};
use crate::book::{Book, Config};
use crate::draw::html::{Block, Column, Fold, OPEN_ROWS, PageTable, Part};
use crate::jobs::plan_spec::text::pattern_words;
use crate::terminal::number::{gauged, length, plural, rounded};
use crate::trade::{Edge, Name, Reading, State, Trial, TrialKind};
use std::collections::BTreeMap;

/// The readings of each trial in each state.
type Sets<'a> = BTreeMap<(&'a Name, State), Vec<&'a Reading>>;

/// The trials of each paper, folded away if there are many.
pub(crate) fn part(book: &Book, papers: &[PaperTrials<'_>]) -> Part {
    let open = book.trials().len() <= OPEN_ROWS;
    let mut sets = Sets::new();
    for reading in book.readings() {
        sets.entry((&reading.trial, reading.state)).or_default().push(reading);
    }
    let mut blocks: Vec<Block> =
        papers.iter().map(|paper| Block::Fold(of_paper(book, paper, &sets, open))).collect();
    if blocks.is_empty() {
        blocks.push(Block::Words("No trial yet.".to_owned()));
    }
    Part { id: "trials", heading: "Every trial", blocks }
}

fn of_paper(book: &Book, paper: &PaperTrials<'_>, sets: &Sets<'_>, open: bool) -> Fold {
    let readings = Fold {
        summary: format!("Readings of {}", paper.paper),
        open: false,
        blocks: vec![Block::Table(readings(book.config(), paper, sets))],
    };
    Fold {
        summary: format!("{}: {}", paper.paper, plural(paper.trials.len(), "trial")),
        open,
        blocks: vec![Block::Table(trials(book.config(), paper)), Block::Fold(readings)],
    }
}

/// The states in which a block has a swell, in the order of the work.
fn with_thread() -> impl Iterator<Item = State> {
    State::ALL.into_iter().filter(|state| state.has_thread())
}

fn trials(config: &Config, paper: &PaperTrials<'_>) -> PageTable {
    let mut columns = vec![
        Column::words("trial"),
        Column::numbers("date"),
        Column::words("thread"),
        Column::numbers("sections \u{d7} sheets"),
        Column::words("sewn"),
        Column::words("hand"),
    ];
    for state in with_thread() {
        let phrase = state.phrase();
        columns.push(Column::numbers(format!("swell {phrase}, {}", config.unit)));
        columns.push(Column::numbers(format!("swell {phrase}, %")));
    }
    columns.push(Column::words("note"));
    let rows = paper.trials.iter().map(|one| row(one, config));
    PageTable::new("", columns, rows).without_empty_columns()
}

fn row(TrialSwell { trial, measured }: &TrialSwell<'_>, config: &Config) -> Vec<String> {
    let sewing = trial.sewing;
    let mut row = vec![
        trial.name.to_string(),
        trial.date.map(|date| date.to_string()).unwrap_or_default(),
        trial.thread.to_string(),
        format!("{} \u{d7} {}", sewing.sections(), sewing.sheets()),
        sewn(trial, config),
        trial.hand.as_ref().map(ToString::to_string).unwrap_or_default(),
    ];
    for state in with_thread() {
        row.extend(swell(measured.iter().find(|one| one.state == state), config));
    }
    row.push(trial.note.clone());
    row
}

/// The swell in the book's unit, and in per cent.
fn swell(measured: Option<&Measured>, config: &Config) -> [String; 2] {
    let Some(Measured { swell_mm, percent, .. }) = measured else { return Default::default() };
    [gauged(*swell_mm, config), rounded(*percent, 1)]
}

/// `two-on, ends 3, boned`; also the guards, and whether the trial was a finished book.
fn sewn(trial: &Trial, config: &Config) -> String {
    let pattern = match (trial.sewing.on(), trial.sewing.ends()) {
        (on, 0) => pattern_words(on).to_owned(),
        (1, _) => pattern_words(1).to_owned(),
        (on, _) => format!("{}, ends {}", pattern_words(on), trial.sewing.ends_text()),
    };
    let mut words = vec![pattern];
    words.extend(trial.boned.then(|| "boned".to_owned()));
    let guarded = trial.guards.mm() > 0.0;
    words.extend(guarded.then(|| format!("guards {}", length(trial.guards, config))));
    words.extend((trial.kind == TrialKind::Book).then(|| "a book".to_owned()));
    words.join(", ")
}

fn readings(config: &Config, paper: &PaperTrials<'_>, sets: &Sets<'_>) -> PageTable {
    let [spine, fore_edge] = ["spine", "fore-edge"].map(|edge| format!("{edge}, {}", config.unit));
    let columns = Column::of(&["trial", "state", &spine, &fore_edge], &[]);
    let row = |(trial, state): (&Trial, State)| {
        let own = sets.get(&(&trial.name, state))?;
        let edge = |edge| lengths(own, edge, config);
        let (name, phrase) = (trial.name.to_string(), state.phrase().to_owned());
        Some(vec![name, phrase, edge(Edge::Spine), edge(Edge::ForeEdge)])
    };
    let each = paper.trials.iter().flat_map(|one| State::ALL.map(|state| (one.trial, state)));
    PageTable::new("", columns, each.filter_map(row))
}

/// The readings of one edge, rounded to the step of the gauge.
fn lengths(readings: &[&Reading], edge: Edge, config: &Config) -> String {
    let lengths = readings.iter().filter_map(|reading| reading.edge(edge));
    lengths.map(|length| gauged(length.mm(), config)).collect::<Vec<_>>().join(", ")
}
