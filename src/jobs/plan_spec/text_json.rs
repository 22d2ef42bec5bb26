//! A plan in JSON.

use crate::model::Plan;
use serde::Serialize;

#[derive(Serialize)]
pub(crate) struct PlanDocument {
    state: &'static str,
    boned: bool,
    guards_mm: f64,
    runs: Vec<RunDocument>,
}

#[derive(Serialize)]
struct RunDocument {
    paper: String,
    in_book: bool,
    caliper_mm: f64,
    hardness: &'static str,
    thread: String,
    laid_mm: f64,
    sections: u16,
    sheets: u16,
    on: u8,
    ends: u16,
    boned: bool,
}

/// A plan in JSON.
pub(crate) fn plan_document(plan: &Plan) -> PlanDocument {
    let runs = plan.runs().iter().map(|run| RunDocument {
        paper: run.paper.name.to_string(),
        in_book: run.paper.level.is_some(),
        caliper_mm: run.paper.caliper_mm,
        hardness: run.paper.hardness.word(),
        thread: run.thread.name.to_string(),
        laid_mm: run.thread.diameter_mm,
        sections: run.sewing.sections(),
        sheets: run.sewing.sheets(),
        on: run.sewing.on(),
        ends: run.sewing.ends(),
        boned: run.boned,
    });
    PlanDocument {
        state: plan.state.word(),
        boned: plan.is_boned(),
        guards_mm: plan.guards_mm,
        runs: runs.collect(),
    }
}
