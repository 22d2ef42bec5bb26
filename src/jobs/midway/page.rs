//! The page for typing the sections sewn so far.

use super::command::Args;
use super::page_said;
use crate::book::Book;
use crate::jobs::desk::Desk;
use crate::jobs::doubt::page_open::open_line;
use crate::jobs::keep::answer_options::{kept_words, plan_options};
use crate::jobs::keep::page_ways::saved_id;
use crate::jobs::memory::Kept;
use crate::jobs::plan_spec::command_lengths::checked_thicknesses;
use crate::jobs::plan_spec::page_fields::{
    OF_PLAN, OWN, bounds, check_extent, first_target, guards, hands, one_extent, one_length,
    papers, patterns, states, targets, threads, with_bounds, with_point, with_target,
};
use crate::page::field::{Choice, Field, Typed};
use crate::page::form::{Form, given};
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::terminal::refusal::CliError;
use crate::trade::{Edge, State};
use askama::Template;

/// The options of `midway` that describe the part.
const PART: &[&str] = &["sewn", "measured", "spine", "fore-edge", "sure"];
/// The options of a plan that have no field here and are sent along.
const UNSEEN: &[&str] = &["run", "leaves", "pages", "left-over", "round", "shoulder"];
/// Where each edge is measured.
const PLACES: [&str; 3] = ["Head", "Middle", "Tail"];

/// The options of `midway` that describe the plan.
fn of_plan() -> Vec<&'static str> {
    [OF_PLAN, &["folded"]].concat()
}

#[derive(Template)]
#[template(path = "bench/part-way.html")]
struct View {
    /// Whether the book has a paper and a thread to plan with.
    stocked: bool,
    faults: Vec<String>,
    /// The choice of plan, the number of sections sewn, and their state.
    fields: Vec<Field>,
    /// The fields of a plan that was not kept.
    typed: Vec<Field>,
    typed_open: bool,
    hidden: Vec<(String, String)>,
    edges: Vec<EdgeView>,
    unit: &'static str,
}

struct EdgeView {
    name: String,
    words: &'static str,
    places: Vec<PlaceView>,
}

struct PlaceView {
    field: String,
    words: &'static str,
    value: String,
    error: Option<String>,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let kept = desk.kept()?;
    let is_asked = form.has("sewn") && !form.has("edit");
    if !is_asked {
        let named = form.get("plan").map_or(Ok(Vec::new()), |id| options(&kept.book, id));
        let faults = named.map_or_else(Turned::faults, |_| Ok(Vec::new()))?;
        return Ok(page(&kept, form, &faults)?.into());
    }
    match said(desk, &kept, form) {
        Ok(content) => Ok(content.into()),
        Err(turned) => Ok(page(&kept, form, &turned.faults()?)?.refused().into()),
    }
}

fn said(desk: &Desk, kept: &Kept, form: &Form) -> Result<Content, Turned> {
    let whole = one_extent(&whole(kept, form)?);
    check_extent(&whole)?;
    let args: Args = whole.args(&[&of_plan()[..], PART].concat())?;
    let midway = args.judged(&args.spec()?, kept.fitted()).map_err(on_page)?;
    let midway = if args.is_sure() { midway } else { midway.unless_doubtful() };
    Ok(page_said::content(&midway, form, open_line(desk)?, kept.book.config()))
}

/// A refusal whose advice is a command line, with the advice of a page.
fn on_page(error: CliError) -> Turned {
    let advice = [
        ("ask 'swellbook predict' instead", "open the plan to see its prediction"),
        (
            "with 'swellbook record trial' and 'swellbook record readings'",
            "block under Trial, then measured",
        ),
    ];
    match error {
        CliError::Value { flag, message } => {
            let message = advice.iter().fold(message, |it, (line, page)| it.replace(line, page));
            CliError::Value { flag, message }.into()
        }
        other => other.into(),
    }
}

/// The form with the options of the plan it names, and the readings of each edge as one list.
fn whole(kept: &Kept, form: &Form) -> Result<Form, Turned> {
    let mut whole = with_point(&with_target(form)?, "folded");
    if let Some(id) = form.get("plan") {
        whole = of_plan().iter().fold(whole, |whole, name| whole.without(name));
        for (name, value) in options(&kept.book, id)? {
            let name = if name == "fore-edge" { "folded" } else { name };
            whole.push(name, given(&value).to_owned());
        }
    }
    let (mut faults, unit) = (Vec::new(), kept.book.config().unit);
    for edge in Edge::ALL {
        let names = (1..=PLACES.len()).map(|at| field(edge, at));
        let typed = names.filter_map(|name| Some((one_length(form.get(&name)?), name)));
        let typed: Vec<(String, String)> = typed.collect();
        let fault = |(typed, name): &(String, String)| {
            checked_thicknesses(typed, unit).err().map(|why| Fault::new(name.as_str(), why))
        };
        faults.extend(typed.iter().filter_map(fault));
        let readings: Vec<String> = typed.into_iter().map(|it| it.0).collect();
        whole.push(&edge.to_string(), readings.join(";"));
    }
    if faults.is_empty() { Ok(whole) } else { Err(Turned::Faults(faults)) }
}

fn field(edge: Edge, place: usize) -> String {
    format!("{edge}-{place}")
}

fn options(book: &Book, id: &str) -> Result<Vec<(&'static str, String)>, Turned> {
    let fault = |message: &str| Turned::Faults(vec![Fault::new("plan", message)]);
    if let Some(plan) = book.plans().iter().find(|plan| saved_id(plan) == id) {
        return Ok(plan_options(&plan.words));
    }
    let mut all = book.forecasts().iter().zip(book.forecast_ids());
    let found = all.find(|(_, own)| own.as_str() == id);
    let (forecast, _) = found.ok_or_else(|| fault("this plan is not in the book any more"))?;
    let words = kept_words(forecast, book)
        .ok_or_else(|| fault("this plan was saved as free text; type it below"))?;
    Ok(plan_options(&words))
}

fn page(kept: &Kept, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let book = &*kept.book;
    let unit = book.config().unit.symbol();
    // A fault of an edge appears at its first reading.
    let at_place = |fault: &Fault| match fault.field.as_str() {
        "spine" | "fore-edge" => Fault::new(format!("{}-1", fault.field), &fault.message),
        _ => fault.clone(),
    };
    let faults: Vec<Fault> = faults.iter().map(at_place).collect();
    let form = &with_bounds(form, book);
    let is_typed = of_plan().iter().any(|name| form.get(name).is_some());
    let fill = |field: Field| field.filled(form, &faults);
    let typed: Vec<Field> = typed(kept, form, is_typed).into_iter().map(fill).collect();
    let fields: Vec<Field> = fields(book, is_typed).into_iter().map(fill).collect();
    let edges: Vec<EdgeView> = Edge::ALL.map(|edge| edge_view(edge, form, &faults)).into();
    let places: Vec<&str> =
        edges.iter().flat_map(|edge| &edge.places).map(|place| place.field.as_str()).collect();
    let is_shown = |name: &str| {
        places.contains(&name) || fields.iter().chain(&typed).any(|field| field.name() == name)
    };
    let whole = faults.iter().filter(|fault| !is_shown(&fault.field));
    let whole = whole.map(|fault| fault.message.clone()).collect();
    let at_typed = faults.iter().any(|fault| typed.iter().any(|it| it.name() == fault.field));
    let view = View {
        stocked: !book.papers().is_empty() && !book.threads().is_empty(),
        faults: whole,
        typed_open: is_typed
            || at_typed
            || (book.forecasts().is_empty() && book.plans().is_empty()),
        hidden: form.kept(|name| !UNSEEN.contains(&name)),
        fields,
        typed,
        edges,
        unit,
    };
    let beside = "After about a third of the sections: will it meet its target, and what should \
                  change?";
    Ok(Content::of("Part-way through a sewing", &view).beside(beside))
}

/// `is_typed` says that the form describes a plan, so no kept one is offered in its place.
fn fields(book: &Book, is_typed: bool) -> Vec<Field> {
    let kept = book.forecasts().iter().zip(book.forecast_ids()).rev();
    let kept = kept.map(|(forecast, id)| {
        Choice::new(id, forecast.name.to_string()).beside(format!("kept {}", forecast.made))
    });
    let saved = book.plans().iter().rev().map(|plan| {
        Choice::new(saved_id(plan), plan.name.to_string()).beside(format!("saved {}", plan.made))
    });
    let none = Choice::new("", "another plan");
    let plans: Vec<Choice> = kept.chain(saved).collect();
    let mut fields = Vec::new();
    if !plans.is_empty() {
        let first = if is_typed { String::new() } else { plans[0].value.clone() };
        let plans = plans.into_iter().chain([none]).collect();
        fields.push(Field::list("plan", "Plan", plans).offer(first).wide());
    }
    fields.push(Field::typed("sewn", "Sections sewn", Typed::Count));
    fields.push(states("measured", "Measured").offer(State::Sewn.word()));
    fields
}

/// The fields of a plan that was not kept. A plan without a target is not given one.
fn typed(kept: &Kept, form: &Form, is_typed: bool) -> Vec<Field> {
    let book = &*kept.book;
    let count = |name, label| Field::typed(name, label, Typed::Count);
    let unit = book.config().unit.symbol();
    let [low, high] = bounds();
    let fields = [
        papers(book),
        threads(book),
        count("sections", "Sections"),
        count("sheets", "Sheets in a section"),
        patterns(form.get("on")),
        Field::typed("ends", "Sections at each end sewn all along", Typed::Counts),
        Field::yes("boned", "Folds boned"),
        targets(book, OWN).offer(if is_typed { "" } else { first_target(book) }),
        low,
        high,
        states("state", "State of the finished book"),
        Field::typed("folded", "Fore-edge of the whole folded block, if measured", Typed::Number)
            .unit(unit),
        guards(),
    ];
    fields.into_iter().chain(hands(kept.fitted(), form.get("hand"))).collect()
}

fn edge_view(edge: Edge, form: &Form, faults: &[Fault]) -> EdgeView {
    let place = |(at, words): (usize, &&'static str)| {
        let field = field(edge, at + 1);
        let fault = faults.iter().find(|fault| fault.field == field);
        PlaceView {
            words,
            value: form.get(&field).unwrap_or_default().to_owned(),
            error: fault.map(|fault| fault.message.clone()),
            field,
        }
    };
    EdgeView {
        name: edge.to_string(),
        words: if edge == Edge::Spine { "Spine" } else { "Fore-edge" },
        places: PLACES.iter().enumerate().map(place).collect(),
    }
}
