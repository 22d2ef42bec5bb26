//! The page that asks for a book to plan and lists the ways to sew it.

use super::answer::{Choice, search};
use super::answer_view::ChoicesView;
use super::page_listed::{Listed, first_few, kept_plans, saved_plans};
use super::text::{answer, book_words, known_words, more_words, others_line, wanted_words};
use crate::jobs::desk::Desk;
use crate::jobs::doubt::command::target_note;
use crate::jobs::doubt::page_open::open_line;
use crate::jobs::entries::text::plan_line;
use crate::jobs::forecast::page_strip::{large, scale, strip};
use crate::jobs::forecast::text_beyond::beyond_line;
use crate::jobs::memory::Kept;
use crate::jobs::plan_spec::command_question::{QuestionArgs, refused};
use crate::jobs::plan_spec::page_fields::{
    bounds, first_target, guards, hands, papers, states, targets, with_bounds, with_point,
    with_target,
};
use crate::jobs::plan_spec::text_way::{caution_words, short_words, way_words};
use crate::page::field::{Choice as Offered, Field, Typed};
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::strip::Strip;
use crate::page::turned::{Fault, Turned};
use crate::terminal::words::capital;
use askama::Template;

/// Number of ways shown.
const SHOWN: usize = 10;
/// The options of `plan` that describe the book.
const FIELDS: &[&str] = &[
    "paper",
    "leaves",
    "pages",
    "target",
    "state",
    "thread",
    "sheets",
    "fore-edge",
    "guards",
    "hand",
    "height",
    "stations",
    "exposed",
];
/// The options that the page of a way has otherwise, or does not have.
const NOT_KEPT: &[&str] = &["thread", "sheets", "exposed"];

#[derive(Template)]
#[template(path = "bench/plan-start.html")]
struct Start {
    form: Asked,
    saved: Vec<Listed>,
    more_saved: Vec<Listed>,
    kept: Vec<Listed>,
    more_kept: Vec<Listed>,
    stocked: bool,
}

/// The form that describes the book.
#[derive(Template)]
#[template(path = "bench/plan-asked.html")]
struct Asked {
    faults: Vec<String>,
    fields: Vec<Field>,
    more: Vec<Field>,
    /// Whether the rarely used questions are unfolded.
    open: bool,
    /// Whether its button is the main one of the page.
    main: bool,
}

#[derive(Template)]
#[template(path = "bench/plan.html")]
struct Ranked {
    form: Asked,
    first: Row,
    head: String,
    met: bool,
    others: Vec<Row>,
    other_ways: Option<String>,
    beyond: Option<String>,
    notes: Vec<String>,
    note: Option<String>,
    known: String,
    open: Option<String>,
}

struct Row {
    path: String,
    chance: String,
    name: String,
    strip: Strip,
    more: String,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let kept = desk.kept()?;
    let is_asked = FIELDS.iter().any(|name| form.get(name).is_some());
    if !is_asked {
        return Ok(start(desk, &kept, form, &[])?.into());
    }
    match ranked(desk, &kept, form) {
        Ok(content) => Ok(content.into()),
        Err(turned) => Ok(start(desk, &kept, form, &turned.faults()?)?.refused().into()),
    }
}

fn start(desk: &Desk, kept: &Kept, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let book = &*kept.book;
    let (saved, more_saved) = first_few(saved_plans(book));
    let (plans, more_kept) = first_few(kept_plans(book));
    let view = Start {
        form: asked(kept, form, faults, true),
        saved,
        more_saved,
        kept: plans,
        more_kept,
        stocked: !book.papers().is_empty() && !book.threads().is_empty(),
    };
    let beside = "Which thread and folding meet the swell you want, best odds first.";
    // Says only what was saved: the saving command also prints the whole prediction, which the
    // reader has already seen.
    let saved = form.get("saved").filter(|_| desk.counts(form));
    let saved = saved.and_then(|name| book.plans().iter().find(|it| it.name.as_str() == name));
    let said = saved.map(|plan| format!("Saved plan {}", plan_line(plan)));
    Ok(Content { said, ..Content::of("Plan a book", &view).beside(beside) })
}

fn asked(kept: &Kept, form: &Form, faults: &[Fault], main: bool) -> Asked {
    let book = &*kept.book;
    let count = |name, label| Field::typed(name, label, Typed::Count);
    let [low, high] = bounds();
    let fields = [
        papers(book),
        count("leaves", "Leaves"),
        count("pages", "Or pages"),
        targets(book, "my own bounds").offer(first_target(book)),
        low,
        high,
    ];
    let more = rest(kept);
    let form = &with_bounds(form, book);
    let fill = |field: Field| field.filled(form, faults);
    let fields: Vec<Field> = fields.into_iter().map(fill).collect();
    let is_more = |name: &str| more.iter().any(|field| field.name() == name);
    let open = faults.iter().any(|fault| is_more(&fault.field));
    let names: Vec<&str> = fields.iter().chain(&more).map(Field::name).collect();
    let whole = faults.iter().filter(|fault| !names.contains(&fault.field.as_str()));
    let faults_of_whole = whole.map(|fault| fault.message.clone()).collect();
    let more = more.into_iter().map(fill).collect();
    Asked { faults: faults_of_whole, fields, more, open, main }
}

fn rest(kept: &Kept) -> Vec<Field> {
    let book = &*kept.book;
    let unit = book.config().unit.symbol();
    let length = |name, label| Field::typed(name, label, Typed::Number).unit(unit);
    let all = Offered::new("", "every thread");
    let threads_of = book.threads().iter().map(|thread| Offered::named(thread.name.as_str()));
    let threads_of = std::iter::once(all).chain(threads_of).collect();
    let fields = [
        states("state", "State that the target applies to"),
        Field::list("thread", "Threads to choose from", threads_of),
        Field::text("sheets", "Sheets in a section").hint("One number, or for example 3..6"),
        length("fore-edge", "Fore-edge of the folded leaves, if measured"),
        guards(),
        length("height", "Height of the book"),
        Field::typed("stations", "Tapes, cords or stations", Typed::Count),
        Field::yes("exposed", "The sewing stays visible on the spine"),
    ];
    fields.into_iter().chain(hands(kept.fitted(), None)).collect()
}

fn ranked(desk: &Desk, kept: &Kept, form: &Form) -> Result<Content, Turned> {
    let form = &with_point(&with_target(form)?, "fore-edge");
    let args: QuestionArgs = form.args(FIELDS)?;
    let known = kept.fitted();
    let question = args.read(known)?;
    let choices = search(known.bench, &question).map_err(refused)?;
    let view = ChoicesView {
        height_given: form.get("height").is_some(),
        ..ChoicesView::of(known.bench, question, &choices, SHOWN)
    };
    let Some(html) = list(&view, form, kept, open_line(desk)?) else {
        return Err(Turned::Missing("There is nothing to choose from.".to_owned()));
    };
    let question = &view.question;
    Ok(Content::new(book_words(question), html).beside(capital(&wanted_words(question))))
}

fn list(view: &ChoicesView, form: &Form, kept: &Kept, open: Option<String>) -> Option<String> {
    let config = kept.book.config();
    let lead = view.best.first()?;
    let notes = view.noted();
    let target = Some(&view.question.target);
    let scale = scale(view.best.iter().map(|choice| choice.percent), [], target);
    let row = |choice: &Choice, ticks| Row {
        path: way_address(choice, form),
        chance: large(choice.chance),
        name: short_words(choice.way.sewing, &choice.way.thread.name),
        strip: Strip { ticks, ..strip(choice.percent, target, None, &scale) },
        more: more_words(choice, &notes, config.unit),
    };
    let rest = &view.best[1..];
    let last = rest.len().saturating_sub(1);
    let others = rest.iter().enumerate().map(|(at, choice)| row(choice, at == last)).collect();
    let head = match view.is_met {
        true => format!("Best: {}", way_words(&lead.way)),
        false => answer(view),
    };
    let given = if view.height_given { "" } else { " (assumed)" };
    let view = Ranked {
        form: asked(kept, form, &[], false),
        first: row(lead, true),
        head,
        met: view.is_met,
        others,
        other_ways: others_line(view),
        beyond: beyond_line("This way", &lead.beyond, config.unit),
        notes: notes.iter().map(|note| capital(&caution_words(*note, config.unit))).collect(),
        note: target_note(target, config.unit),
        known: known_words(view, given, config),
        open,
    };
    view.render().ok()
}

/// The address that opens a way: the book in question and how it is sewn.
fn way_address(choice: &Choice, form: &Form) -> String {
    let sewing = choice.way.sewing;
    let mut way = Form::default();
    let kept = FIELDS.iter().filter(|name| !NOT_KEPT.contains(name));
    let kept: Vec<&str> = kept.copied().collect();
    form.pairs().filter(|(name, _)| kept.contains(name)).for_each(|(name, value)| {
        way.push(name, value.to_owned());
    });
    way.push("thread", choice.way.thread.name.to_string());
    way.push("sheets", sewing.sheets().to_string());
    way.push("on", sewing.on().to_string());
    if sewing.on() > 1 {
        way.push("ends", sewing.ends_text());
    }
    if choice.way.boned {
        way.push("boned", "yes".to_owned());
    }
    let fields = [&kept[..], &["thread", "sheets", "on", "ends", "boned"]].concat();
    way.address("/plan/way", &fields)
}
