//! What `plan --json` prints.

use super::answer::Choice;
use super::answer_changes::{Change, Changed};
use super::text::ChoicesView;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::text_beyond::{GapDocument, gap_documents};
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::text_way::caution_words;
use crate::model::mixed::Summary;
use crate::terminal::json::document;
use serde::Serialize;

#[derive(Serialize)]
struct Document<'a> {
    paper: &'a str,
    leaves: u32,
    state: &'static str,
    target: &'a Band,
    height_mm: f64,
    trials_used: usize,
    considered: usize,
    met: bool,
    choices: Vec<Row<'a>>,
    nearest: Option<WayRow<'a>>,
    from: Option<WayRow<'a>>,
    changes: Vec<ChangeRow<'a>>,
}

#[derive(Serialize)]
struct WayRow<'a> {
    thread: &'a str,
    sheets: u16,
    sections: u16,
    on: u8,
    ends: u16,
    boned: bool,
    chance: f64,
    swell_percent: PercentRange,
    beyond: Vec<GapDocument>,
}

#[derive(Serialize)]
struct Row<'a> {
    #[serde(flatten)]
    way: WayRow<'a>,
    thread_m: f64,
    warnings: Vec<String>,
    blank_leaves: u32,
    swell_mm: Summary,
}

#[derive(Serialize)]
struct ChangeRow<'a> {
    what: &'static str,
    #[serde(flatten)]
    way: WayRow<'a>,
}

/// The choices as one JSON object.
pub fn choices_json(view: &ChoicesView<'_>) -> String {
    let question = view.question;
    let current = view.current.as_ref();
    document(&Document {
        paper: question.paper.name.as_str(),
        leaves: question.leaves,
        state: question.state.word(),
        target: &question.target,
        height_mm: question.height.mm().mm(),
        trials_used: view.trials_used,
        considered: view.considered,
        met: view.is_met,
        choices: view.best.iter().map(row).collect(),
        nearest: view.nearest.as_ref().map(way_row),
        from: current.map(|(now, _)| way_row(now)),
        changes: current.map_or_else(Vec::new, |(_, changed)| changed.iter().map(change).collect()),
    })
}

fn way_row(choice: &Choice) -> WayRow<'_> {
    let sewing = choice.way.sewing;
    WayRow {
        thread: choice.way.thread.name.as_str(),
        sheets: sewing.sheets(),
        sections: sewing.sections(),
        on: sewing.on(),
        ends: sewing.ends(),
        boned: choice.way.boned,
        chance: choice.chance,
        swell_percent: choice.percent,
        beyond: gap_documents(&choice.beyond),
    }
}

fn row(choice: &Choice) -> Row<'_> {
    let warning = |caution: &crate::trade::Caution| {
        format!("{}: {}", caution.code(), caution_words(*caution))
    };
    Row {
        way: way_row(choice),
        thread_m: choice.thread.mm() / 1000.0,
        warnings: choice.cautions.iter().map(warning).collect(),
        blank_leaves: choice.way.blank_leaves,
        swell_mm: choice.swell,
    }
}

fn change(changed: &Changed) -> ChangeRow<'_> {
    let what = match changed.change {
        Change::Thread => "thread",
        Change::Sheets => "sheets",
        Change::On => "on",
        Change::Boned => "boned",
    };
    ChangeRow { what, way: way_row(&changed.choice) }
}
