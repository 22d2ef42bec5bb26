//! Form fields that describe a planned book.

use super::text::pattern_words;
use crate::book::{Book, entry_named};
use crate::jobs::fitted::Fitted;
use crate::page::field::{Choice, Field, Typed};
use crate::page::form::{Form, given};
use crate::page::turned::{Fault, MISSING, Turned};
use crate::terminal::number::rounded;
use crate::trade::State;

/// The options that describe a planned book, shared by its commands. The measured fore-edge is not
/// among them, because its name differs between commands.
pub(crate) const OF_PLAN: &[&str] = &[
    "paper",
    "thread",
    "sections",
    "leaves",
    "pages",
    "sheets",
    "on",
    "ends",
    "boned",
    "run",
    "left-over",
    "state",
    "target",
    "round",
    "shoulder",
    "guards",
    "hand",
];

pub(crate) fn papers(book: &Book) -> Field {
    let all = book.papers().iter().map(|paper| Choice::named(paper.name.as_str()));
    Field::list("paper", "Paper", all.collect())
}

pub(crate) fn threads(book: &Book) -> Field {
    let all = book.threads().iter().map(|thread| Choice::named(thread.name.as_str()));
    Field::list("thread", "Thread", all.collect())
}

/// The choice of no target of the book.
pub(crate) const OWN: &str = "none, or my own bounds";

/// The first target of the book, which a form without a plan preselects.
pub(crate) fn first_target(book: &Book) -> &str {
    book.targets().first().map_or("", |target| target.name.as_str())
}

/// The targets of the book, and a choice labelled `none` for no target.
pub(crate) fn targets(book: &Book, none: &'static str) -> Field {
    let own = Choice::new("", none);
    let all = book.targets().iter().map(|target| {
        let bound = |percent| rounded(percent, 0);
        let (low, high) = (bound(target.low_percent()), bound(target.high_percent()));
        Choice::named(target.name.as_str()).beside(format!("{low} to {high} %"))
    });
    Field::list("target", "Target", all.chain([own]).collect()).wide()
}

/// The fields for the user's own bounds.
pub(crate) fn bounds() -> [Field; 2] {
    let bound = |name, label| Field::typed(name, label, Typed::Number).unit("%");
    [bound("low", "Or swell from"), bound("high", "to")]
}

/// The form with the user's own bounds turned into a target. A missing bound is a fault at its
/// field.
pub(crate) fn with_target(form: &Form) -> Result<Form, Turned> {
    let missing = |bound| Err(Turned::Faults(vec![Fault::new(bound, MISSING)]));
    match (form.get("low"), form.get("high")) {
        (None, None) => Ok(form.clone()),
        (None, _) => missing("low"),
        (_, None) => missing("high"),
        (Some(low), Some(high)) => {
            Ok(form.without("target").with("target", format!("{low}..{high}")))
        }
    }
}

/// The inverse of [`with_target`], for a form that is shown: a target that is not of the book
/// stands in the fields of the bounds.
pub(crate) fn with_bounds(form: &Form, book: &Book) -> Form {
    let own = form.get("target").filter(|typed| entry_named(book.targets(), typed).is_none());
    match own.and_then(|typed| typed.split_once("..")) {
        Some((low, high)) => {
            let form = form.without("target").without("low").without("high");
            form.with("target", "").with("low", low.trim()).with("high", high.trim())
        }
        None => form.clone(),
    }
}

/// The form without leaves or pages if it has sections, which were worked out from them.
pub(crate) fn one_extent(form: &Form) -> Form {
    match form.get("sections") {
        Some(_) => form.without("leaves").without("pages"),
        None => form.clone(),
    }
}

/// Checks that a form of a plan says how large the book is.
pub(crate) fn check_extent(form: &Form) -> Result<(), Turned> {
    let has = |name: &&str| form.get(name).is_some();
    if ["sections", "leaves", "pages", "run"].iter().any(has) {
        return Ok(());
    }
    let message = "fill in the sections, or the leaves or pages of the book";
    Err(Turned::Faults(vec![Fault::new("sections", message)]))
}

/// The form with a decimal point in a field that holds one length, where a comma cannot separate
/// two.
pub(crate) fn with_point(form: &Form, field: &str) -> Form {
    match form.get(field).map(one_length) {
        Some(length) => form.without(field).with(field, length),
        None => form.clone(),
    }
}

/// A field that holds one length: a comma in it is a decimal comma.
pub(crate) fn one_length(typed: &str) -> String {
    if typed.contains('.') { typed.to_owned() } else { typed.replacen(',', ".", 1) }
}

/// The states with thread in the folds, which have a swell.
pub(crate) fn states(name: &'static str, label: &'static str) -> Field {
    let all = State::ALL.iter().filter(|state| state.has_thread());
    let all = all.map(|state| Choice::new(state.word(), state.phrase()));
    Field::list(name, label, all.collect()).offer(State::Knocked.word())
}

/// The choice of hand, if the book has more than one, or a plan names one: it may have left.
pub(crate) fn hands(known: Fitted<'_>, named: Option<&str>) -> Option<Field> {
    let words = |name: &str| match name {
        "" => "the hand of the trials without a name".to_owned(),
        name => name.to_owned(),
    };
    let all = known.bench.observations.hands.iter();
    let all: Vec<Choice> = all.map(|name| Choice::new(given(name), words(name))).collect();
    let anybody = Choice::new("", "not given");
    (all.len() > 1 || named.is_some()).then(|| {
        let all = std::iter::once(anybody).chain(all).collect();
        Field::list("hand", "Who will sew", all)
    })
}

/// All along, two-on or three-on, and `now` if it is four-on to six-on.
pub(crate) fn patterns(now: Option<&str>) -> Field {
    let more = now.and_then(|on| on.parse().ok()).filter(|on| (4..=6_u8).contains(on));
    let choice = |on: u8| Choice::new(on.to_string(), pattern_words(on));
    let all = (1..=3).chain(more).map(choice).collect();
    Field::choice("on", "Sewing", all).offer("1")
}

pub(crate) fn guards() -> Field {
    Field::text("guards", "Repairs at the fold")
        .wide()
        .hint("For example tissue=0.02mm,per-section=2, or the build-up of the whole block")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_that_are_typed_count_before_the_leaves() {
        let extent = |query: &str| {
            one_extent(&Form::of_query(query.as_bytes())).address("", &["leaves", "sections"])
        };
        assert_eq!(extent("leaves=192&sections="), "?leaves=192");
        assert_eq!(extent("leaves=192&pages=&sections=25"), "?sections=25");
    }

    #[test]
    fn bounds_of_ones_own_count_before_a_target_that_is_offered() {
        let target = |query: &str| {
            let form = with_target(&Form::of_query(query.as_bytes()));
            form.map(|form| form.all("target").map(str::to_owned).collect::<Vec<_>>())
        };
        let is = |query, one: &str| assert_eq!(target(query).unwrap(), [one], "{query}");
        is("target=rounded&low=&high=", "rounded");
        is("target=rounded&low=12,5&high=22", "12,5..22");
        for (query, empty) in [("low=12", "high"), ("low=&high=12", "low")] {
            let faults = target(query).unwrap_err().faults().unwrap();
            assert_eq!(faults, [Fault::new(empty, MISSING)]);
        }
    }
}
