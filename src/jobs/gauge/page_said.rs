//! The page with the result of a gauge study.

use super::page_typed::Study;
use super::text::{besides, notes, operator_row, pay_rows, source};
use crate::jobs::study::answer::GaugeReport;
use crate::jobs::study::text::answers;
use crate::page::route::Content;
use crate::units::LengthUnit;
use askama::Template;

#[derive(Template)]
#[template(path = "bench/gauge-said.html")]
struct View {
    answers: Vec<String>,
    notes: Vec<String>,
    unit: &'static str,
    operators: Vec<[String; 4]>,
    pays: Vec<[String; 3]>,
    besides: String,
    source: String,
    kept: Vec<(String, String)>,
    token: String,
}

pub(crate) fn content(
    report: &GaugeReport,
    study: &Study,
    unit: LengthUnit,
    token: String,
) -> Content {
    let operators = report.study.operators.iter().map(|one| operator_row(one, unit));
    let view = View {
        answers: answers(report, unit),
        notes: notes(report, unit),
        unit: unit.symbol(),
        operators: operators.collect(),
        pays: pay_rows(report, unit),
        besides: besides(report, unit),
        source: source(report),
        kept: study.pairs(),
        token,
    };
    Content::of("How well readings repeat", &view).beside("Nothing was written into the book.")
}
