//! The page for adding a thread.

use super::command_thread::{from_wraps, run, thread_of};
use super::page_asked::{Again, Order, done};
use crate::jobs::desk::Desk;
use crate::page::field::{Choice, Field, Typed};
use crate::page::form::Form;
use crate::page::form_page::{FormPage, Group};
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::number::fine_length;
use crate::trade::{Material, Thread};

/// The drawing and text on how to measure a thread.
const WRAPS: &str = concat!(
    "<div>\n<figure class=\"drawing\">\n",
    include_str!("../../../templates/bench/drawings/wraps.svg"),
    "</figure>\n<p class=\"quiet\">Wind twenty turns side by side around a rod, without gaps and \
     without pulling. Measure across all of them. Record a thread that you sew double as a separate \
     thread.</p>\n</div>"
);

const FIELDS: &[&str] = &["thread", "material", "count", "laid", "wraps", "over", "note"];
/// The fields without wrapped turns. The form prefills their number, which means nothing without
/// their width.
pub(crate) const OF_ONE: &[&str] = &["thread", "material", "count", "laid", "note"];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, Again::default())?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let fields = if form.get("over").is_some() { FIELDS } else { OF_ONE };
    let order = Order { fields, new_of: thread_of, run };
    done(desk, form, order, "/stock", page)
}

fn page(desk: &Desk, form: &Form, again: Again) -> Result<Content, Turned> {
    let book = desk.book()?;
    let unit = book.config().unit.symbol();
    let length = |name, label| Field::typed(name, label, Typed::Number).unit(unit);
    let wraps = vec![
        Field::typed("wraps", "Turns", Typed::Count).offer("20"),
        length("over", "Their width"),
    ];
    let laid = length("laid", "Diameter as it lies").hint("Only if there were no turns");
    let Fields { name, label, rest } = fields(None);
    let diameter = || {
        let (laid, _) = from_wraps(form.get("wraps")?, form.get("over")?, book.config()).ok()?;
        Some(fine_length(laid, book.config()))
    };
    let groups = vec![
        Group::Each(vec![name]),
        Group::Beside(wraps),
        Group::Sum("Diameter", diameter()),
        Group::Beside(label),
    ];
    let drawn = FormPage {
        folded: Some(("Another measure, a note", vec![Group::Each(vec![laid]), Group::Each(rest)])),
        aside: WRAPS,
        links: vec![("/stock".to_owned(), "Back to the stock", "quiet")],
        asked: again.asked,
        ..FormPage::new("/thread", "Add this thread", groups, desk.seal())
    };
    let both =
        "Its width over turns, its count, or both. The measured diameter is used if there is one.";
    Ok(drawn.content("Add a thread", form, &again.faults).beside(both))
}

/// The fields of a thread except its diameter, which can be measured in two ways.
pub(crate) struct Fields {
    pub name: Field,
    /// Values from its label.
    pub label: Vec<Field>,
    /// Values that are rarely known.
    pub rest: Vec<Field>,
}

/// The fields for a new thread, or prefilled for one to correct.
pub(crate) fn fields(thread: Option<&Thread>) -> Fields {
    let materials = Material::EACH.iter().map(|word| Choice::named(*word)).collect();
    let material = thread.map_or(Material::Linen, |thread| thread.material);
    let count = thread.and_then(Thread::count).map(|count| count.to_string());
    let name = thread.map_or("", |thread| thread.name.as_str());
    Fields {
        name: Field::text("thread", "Name").offer(name).needed(),
        label: vec![
            Field::text("count", "Count on the label")
                .offer(count.unwrap_or_default())
                .hint("lea 25/3, tex 200, Nm 30/3 …"),
            Field::list("material", "Material", materials).offer(material.word()),
        ],
        rest: vec![Field::text("note", "Note").offer(thread.map_or("", |thread| &thread.note))],
    }
}
