//! A study of the gauge, typed in round by round: each round measures the same things again,
//! without showing the earlier readings.

use super::command::not_enough;
use super::page_said;
use super::page_typed::{Reading, Study, Turn};
use crate::jobs::desk::Desk;
use crate::jobs::memory::Kept;
use crate::jobs::study::answer::{GaugeReport, GaugeUse, Origin, UsualSwell, gauge, gauged};
use crate::jobs::study::text::answers;
use crate::observe::Repeats;
use crate::page::field::{Field, Typed};
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned, of_no_field};
use askama::Template;

#[derive(Template)]
#[template(path = "bench/gauge-start.html")]
struct Start {
    faults: Vec<String>,
    fields: Vec<Field>,
    /// Results from the book's own readings.
    own: Vec<String>,
}

#[derive(Template)]
#[template(path = "bench/gauge.html")]
struct Round {
    token: String,
    kept: Vec<(String, String)>,
    who: String,
    round: usize,
    readings: Vec<Reading>,
    unit: &'static str,
    last: bool,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let kept = desk.kept()?;
    if !form.has("who") || form.has("again") {
        return Ok(start(&kept, form, &[])?.into());
    }
    match said(desk, &kept, form) {
        Ok(content) => Ok(content.into()),
        Err(turned) => Ok(start(&kept, form, &turned.faults()?)?.refused().into()),
    }
}

/// The readings are sent in a body, since those of a long study are too many for an address. The
/// next round to type, or the result after the last round.
fn said(desk: &Desk, kept: &Kept, form: &Form) -> Result<Content, Turned> {
    let unit = kept.book.config().unit;
    let study = Study::of(form, unit)?;
    let Some(turn) = study.turn() else {
        let report = report(kept, &Repeats::of_sheet(&study.sheet()))?;
        return Ok(page_said::content(&report, &study, unit, desk.token.clone()));
    };
    Ok(round(&study, turn, unit.symbol(), desk.token.clone()))
}

fn report(kept: &Kept, repeats: &Repeats) -> Result<GaugeReport, Turned> {
    let usage = GaugeUse::usual(kept.book.config().resolution.mm());
    let usual = UsualSwell::of(&kept.bench);
    let report = gauge(Origin::Sheet, repeats, usual, usage);
    Ok(report.map_err(|error| not_enough(error, Origin::Sheet))?)
}

fn start(kept: &Kept, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let fields = [
        Field::text("who", "Who measures").needed(),
        Field::text("things", "What is measured")
            .hint("A name or a number for each thing, separated by commas")
            .offer("1, 2, 3, 4, 5"),
        Field::typed("rounds", "Rounds", Typed::Count).offer("3"),
    ];
    let names: Vec<&str> = fields.iter().map(Field::name).collect();
    let (unit, own) = (kept.book.config().unit, gauged(&kept.book, &kept.bench));
    let view = Start {
        faults: of_no_field(faults, &names),
        fields: fields.into_iter().map(|field| field.filled(form, faults)).collect(),
        own: own.map(|own| answers(&own, unit)).unwrap_or_default(),
    };
    let beside = "Measure a few things several times, and see how good one reading is.";
    Ok(Content::of("Check the gauge", &view).beside(beside))
}

fn round(study: &Study, turn: Turn, unit: &'static str, token: String) -> Content {
    let kept = study.kept(&turn);
    let Turn { who, round, fields: readings, last } = turn;
    let title = format!("{who}: round {round} of {}", study.rounds);
    let beside = match round {
        1 => "Mark the spot on each thing. Close the gauge between readings.",
        _ => "Measure the same things again, in this order, without looking at the first readings.",
    };
    let is_faulty = readings.iter().any(|reading| reading.fault.is_some());
    let view = Round { token, kept, who, round, readings, unit, last };
    let content = Content::of(title, &view).beside(beside);
    if is_faulty { content.refused() } else { content }
}
