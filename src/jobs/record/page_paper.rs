//! The page for adding a paper.

use super::command_paper::{from_stack, paper_of, run};
use super::page_asked::{Again, Order, done};
use crate::jobs::desk::Desk;
use crate::page::field::{Choice, Field, Typed};
use crate::page::form::Form;
use crate::page::form_page::{FormPage, Group};
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::terminal::number::fine_length;
use crate::terminal::values::whole;
use crate::trade::{Hardness, Paper, ranges};

/// The drawing and text on how to measure a paper.
const STACK: &str = concat!(
    "<div>\n<figure class=\"drawing\">\n",
    include_str!("../../../templates/bench/drawings/stack.svg"),
    "</figure>\n<p class=\"quiet\">Press ten leaves flat with your fingers and measure them \
     together. A stack gives a truer caliper than one leaf.</p>\n</div>"
);

const FIELDS: &[&str] = &["paper", "weight", "caliper", "stack", "reading", "hardness", "note"];
/// The fields without a stack. The form prefills its number of leaves, which means nothing without
/// a reading over the stack.
pub(crate) const OF_A_LEAF: &[&str] = &["paper", "weight", "caliper", "hardness", "note"];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, Again::default())?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let fields = if form.get("reading").is_some() { FIELDS } else { OF_A_LEAF };
    let order = Order { fields, new_of: paper_of, run };
    done(desk, form, order, "/stock", page)
}

fn page(desk: &Desk, form: &Form, again: Again) -> Result<Content, Turned> {
    let book = desk.book()?;
    let unit = book.config().unit.symbol();
    let length = |name, label| Field::typed(name, label, Typed::Number).unit(unit);
    let stack = vec![
        Field::typed("stack", "Leaves in the stack", Typed::Count).offer("10"),
        length("reading", "The stack measures"),
    ];
    let leaf = length("caliper", "Caliper of one leaf").hint("Only if there was no stack");
    let Fields { name, hardness, rest } = fields(None);
    let caliper = || {
        let leaves = whole(form.get("stack")?, ranges::STACK).ok()?;
        let (_, caliper) = from_stack(leaves, form.get("reading")?, book.config()).ok()?;
        Some(fine_length(caliper, book.config()))
    };
    let groups = vec![
        Group::Each(vec![name]),
        Group::Beside(stack),
        Group::Sum("Caliper of one leaf", caliper()),
        Group::Each(vec![hardness]),
    ];
    let drawn = FormPage {
        folded: Some((
            "Weight, one leaf, a note",
            vec![Group::Each(vec![leaf]), Group::Each(rest)],
        )),
        aside: STACK,
        links: vec![("/stock".to_owned(), "Back to the stock", "quiet")],
        asked: again.asked,
        ..FormPage::new("/paper", "Add this paper", groups, desk.seal())
    };
    Ok(drawn.content("Add a paper", form, &at_stack(again.faults, form)))
}

/// If no caliper was typed, moves a fault of the caliper to the stack reading, the preferred way.
fn at_stack(mut faults: Vec<Fault>, form: &Form) -> Vec<Fault> {
    if form.get("caliper").is_none() {
        let of_leaf = faults.iter_mut().filter(|fault| fault.field == "caliper");
        of_leaf.for_each(|fault| fault.field = "reading".to_owned());
    }
    faults
}

/// The fields of a paper except its caliper, which can be measured in two ways.
pub(crate) struct Fields {
    pub name: Field,
    pub hardness: Field,
    /// Values that are rarely known.
    pub rest: Vec<Field>,
}

/// The fields for a new paper, or prefilled for one to correct.
pub(crate) fn fields(paper: Option<&Paper>) -> Fields {
    let hardness = paper.map_or(Hardness::Medium, |paper| paper.hardness);
    let weight = paper.and_then(|paper| paper.grammage).map(|weight| weight.to_string());
    let note = paper.map_or("", |paper| &paper.note);
    Fields {
        name: Field::text("paper", "Name").offer(paper.map_or("", |it| it.name.as_str())).needed(),
        hardness: Field::choice("hardness", "Hardness", how_hard()).offer(hardness.word()),
        rest: vec![
            Field::text("weight", "Weight").offer(weight.unwrap_or_default()).hint(
                "As on the label: 90 gsm, or pounds with the kind (bond, text, cover, index, \
                 bristol, tag): 24 lb bond",
            ),
            Field::text("note", "Note").offer(note),
        ],
    }
}

fn how_hard() -> Vec<Choice> {
    let choice = |hardness: Hardness| {
        let beside = match hardness {
            Hardness::Hard => "thread stays on top",
            Hardness::Medium => "if you are not sure",
            Hardness::Soft => "thread sinks in",
        };
        Choice::named(hardness.word()).beside(beside)
    };
    Hardness::ALL.into_iter().map(choice).collect()
}
