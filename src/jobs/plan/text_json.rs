//! The JSON of `plan`.

use super::answer::Choice;
use super::answer_changes::Changed;
use super::answer_view::ChoicesView;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::text_way::caution_words;
use crate::model::mixed::Summary;
use crate::terminal::json::document;
use crate::trade::{Caution, State};
use crate::units::{LengthUnit, Millimetres};
use serde::Serialize;

#[derive(Serialize)]
struct Document<'a> {
    paper: &'a str,
    leaves: u32,
    state: State,
    target: &'a Band,
    height_mm: Millimetres,
    trials_used: usize,
    considered: usize,
    met: bool,
    choices: Vec<Row<'a>>,
    nearest: Option<&'a Choice>,
    from: Option<&'a Choice>,
    changes: &'a [Changed],
}

#[derive(Serialize)]
struct Row<'a> {
    #[serde(flatten)]
    choice: &'a Choice,
    group: usize,
    thread_m: f64,
    warnings: Vec<String>,
    blank_leaves: u32,
    swell_mm: Summary,
}

pub fn choices_json(view: &ChoicesView) -> String {
    let question = &view.question;
    let current = view.current.as_ref();
    document(&Document {
        paper: question.paper.name.as_str(),
        leaves: question.leaves,
        state: question.state,
        target: &question.target,
        height_mm: question.height.mm(),
        trials_used: view.trials_used,
        considered: view.considered,
        met: view.is_met,
        choices: view.best.iter().map(row).collect(),
        nearest: view.best.first().filter(|_| !view.is_met),
        from: current.map(|it| &it.now),
        changes: current.map_or(&[], |it| &it.changed),
    })
}

fn row(choice: &Choice) -> Row<'_> {
    let warning = |caution: &Caution| {
        format!("{}: {}", caution.word(), caution_words(*caution, LengthUnit::Millimetre))
    };
    Row {
        choice,
        group: choice.group,
        thread_m: choice.thread.mm() / 1000.0,
        warnings: choice.cautions.iter().map(warning).collect(),
        blank_leaves: choice.way.blank_leaves,
        swell_mm: choice.swell,
    }
}
