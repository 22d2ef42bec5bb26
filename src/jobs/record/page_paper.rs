//! A new paper, typed on the page.

use super::command_paper::{Args, run};
use crate::jobs::desk::Desk;
use crate::page::field::{Choice, Field, Typed};
use crate::page::form::Form;
use crate::page::form_page::FormPage;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::trade::Hardness;

/// How a paper is measured.
const STACK: &str = concat!(
    "<p>A stack of ten leaves, pressed flat with the fingers, gives a truer thickness than one leaf.</p>",
    "<figure class=\"drawing\">",
    include_str!("../../../templates/bench/drawings/stack.svg"),
    "</figure>"
);

const FIELDS: &[&str] = &["paper", "grammage", "caliper", "stack", "reading", "hardness", "note"];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, &[])?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    // The number of leaves is offered, and means nothing without what they measured together.
    let is_stack = form.get("reading").is_some();
    let fields: Vec<&str> =
        FIELDS.iter().copied().filter(|it| is_stack || *it != "stack").collect();
    desk.done::<Args>(form, (&fields, run), ("/stock", page))
}

fn page(desk: &Desk, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let unit = desk.book()?.config().unit.to_string();
    let length = |name, label| Field::typed(name, label, Typed::Number).unit(unit.as_str());
    let hardness = Hardness::EACH.iter().map(|word| Choice::named(*word)).collect();
    let fields = vec![
        Field::text("paper", "Name").hint("As you call it at the bench").needed(),
        Field::typed("stack", "Leaves in the stack", Typed::Count).offer("10"),
        length("reading", "Thickness of the stack"),
        length("caliper", "Or the thickness of one leaf"),
        Field::choice("hardness", "Hardness", hardness).offer("medium"),
        Field::typed("grammage", "Grammage, if you know it", Typed::Number).unit("g/m²"),
        Field::text("note", "Note"),
    ];
    let drawn = FormPage {
        above: STACK.to_owned(),
        back: Some(("/stock", "Back to the stock")),
        ..FormPage::new("/paper", "Add this paper", fields, desk.seal())
    };
    Ok(drawn.content("A new paper", form, faults))
}
