//! The page for adding a target.

use super::command_target::{run, target_of};
use super::page_asked::{Again, Order, done};
use crate::jobs::desk::Desk;
use crate::page::field::{Field, Typed};
use crate::page::form::Form;
use crate::page::form_page::{FormPage, Group};
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::trade::Target;

pub(crate) const FIELDS: &[&str] = &["target", "low", "high", "note"];

const ASIDE: &str = "<div>\n<p class=\"quiet\">Swell is in per cent of the fore-edge, in the state \
    in which you round. A flat spine needs almost none.</p>\n</div>";

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, Again::default())?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let order = Order { fields: FIELDS, new_of: target_of, run };
    done(desk, form, order, "/stock", page)
}

fn page(desk: &Desk, form: &Form, again: Again) -> Result<Content, Turned> {
    let drawn = FormPage {
        aside: ASIDE,
        links: vec![("/stock".to_owned(), "Back to the stock", "quiet")],
        asked: again.asked,
        ..FormPage::new("/target", "Add this target", groups(None), desk.seal())
    };
    let words = "The swell that a structure needs.";
    Ok(drawn.content("Add a target", form, &again.faults).beside(words))
}

/// The fields for a new target, or prefilled for one to correct.
pub(crate) fn groups(target: Option<&Target>) -> Vec<Group> {
    let percent = |name, label, of: fn(&Target) -> f64| {
        let now = target.map(|target| of(target).to_string()).unwrap_or_default();
        Field::typed(name, label, Typed::Number).unit("%").offer(now).needed()
    };
    let name = target.map_or("", |target| target.name.as_str());
    let hint = "The structure: half leather, limp …";
    vec![
        Group::Each(vec![Field::text("target", "Name").offer(name).hint(hint).needed()]),
        Group::Beside(vec![
            percent("low", "Lowest swell", Target::low_percent),
            percent("high", "Highest swell", Target::high_percent),
        ]),
        Group::Each(vec![
            Field::text("note", "Note").offer(target.map_or("", |target| &target.note)),
        ]),
    ]
}
