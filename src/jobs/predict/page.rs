//! The page of one way to sew a book: its whole prediction, with controls that update it at once.

use super::command::Args;
use super::page_edge::{MEASURED_ON, edge_note, of_leaves};
use super::page_part::part_way;
use crate::book::{Book, Config};
use crate::jobs::desk::Desk;
use crate::jobs::doubt::command::plan_notes;
use crate::jobs::doubt::page_open::open_line;
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::forecast::page_strip::{large, scale, strip};
use crate::jobs::forecast::text::{
    advice_words, beyond_words, budget_parts, fore_edge_line, nominal_line, source_line, swell_line,
};
use crate::jobs::forecast::text_leaning::leaning_line;
use crate::jobs::forecast::text_planned::{Place, divided_words, geometry_line, guards_line};
use crate::jobs::keep::answer::figures;
use crate::jobs::keep::command::{CHANGED, SEEN};
use crate::jobs::memory::Kept;
use crate::jobs::plan_spec::page_fields::{
    OF_PLAN, OWN, bounds, check_extent, guards, hands, one_extent, papers, patterns, states,
    targets, threads, with_bounds, with_point, with_target,
};
use crate::jobs::plan_spec::text::{band_words, plan_line};
use crate::jobs::plan_spec::text_way::short_words;
use crate::page::field::{Choice, Field, Typed};
use crate::page::form::Form;
use crate::page::form_page::Seal;
use crate::page::route::{Answer, Content};
use crate::page::strip::Strip;
use crate::page::turned::{Fault, Turned};
use crate::terminal::number::{plural, rounded};
use askama::Template;

/// Options that are passed on with the plan but have no field: those for the bench card, and the
/// shape of the spine.
pub(super) const BESIDE: &[&str] = &["height", "stations", "round", "shoulder"];
/// The upper end of the slider for sheets in a section, unless the plan has more.
const SLID: u32 = 8;

/// The options of `predict` that describe a plan.
pub(super) fn of_plan() -> Vec<&'static str> {
    [OF_PLAN, &["fore-edge"]].concat()
}

#[derive(Template)]
#[template(path = "bench/way.html")]
struct View {
    outcome: Option<Outcome>,
    faults: Vec<String>,
    /// The controls; `None` for a book of several runs.
    controls: Option<Controls>,
    /// The plan and the figures shown, sent along with the typed fields.
    plan: Vec<(String, String)>,
    keep: Field,
    save: Vec<Field>,
    seal: Seal,
    read_only: bool,
    open: Option<String>,
    card: String,
    part_way: String,
}

struct Controls {
    hidden: Vec<(String, String)>,
    measured_on: String,
    sheets: u32,
    most: u32,
    fields: Vec<Field>,
    more: Vec<Field>,
    open: bool,
}

struct Outcome {
    chance: Option<String>,
    target: String,
    strip: Strip,
    sections: String,
    swell: String,
    lines: Vec<String>,
    notes: Vec<String>,
    beyond: Option<String>,
    budget: Vec<Share>,
    advice: Option<String>,
    beside: Vec<String>,
}

/// What a part of the uncertainty is called, its per cent, and the length of its bar: nothing for
/// what is taken off.
type Share = [String; 3];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    // A form kept nothing, because the book had changed.
    let changed = form.get("changed").map(|_| Fault::new("", CHANGED));
    Ok(page(desk, form, changed.as_slice())?.into())
}

/// The field for the name of a saved plan; if the name is taken, also whether to replace that plan.
fn save_fields(book: &Book, form: &Form, faults: &[Fault]) -> Vec<Field> {
    let name = Field::text("save", "Name to save the plan under")
        .hint("To open, change and print it again. It keeps the description, not the figures.");
    let is_taken = book.plans().iter().any(|plan| Some(plan.name.as_str()) == form.get("save"));
    let replace = is_taken.then(|| Field::yes("replace", "Replace the plan that has this name"));
    let fields = [name].into_iter().chain(replace);
    fields.map(|field| field.filled(form, faults)).collect()
}

/// Shown while the weight of the starting beliefs is worked out, once for every state of the book.
const WIDER: &str = "Working out how much answers lean on the starting beliefs.";

pub(super) fn page(desk: &Desk, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    desk.of_kept(WIDER, |kept| Ok(kept.bench.wider().is_some()))?;
    let kept = desk.kept()?;
    let whole = with_target(form).map(|form| with_point(&form, "fore-edge"));
    let told = whole.and_then(|form| told(&kept, form));
    let (forecast, form, own) = match told {
        Ok((forecast, form)) => (Some(forecast), form, Vec::new()),
        Err(turned) => (None, form.clone(), turned.faults()?),
    };
    let all: Vec<Fault> = faults.iter().cloned().chain(own).collect();
    let (title, beside) = match &forecast {
        Some(forecast) => titles(forecast),
        None => ("No prediction yet".to_owned(), String::new()),
    };
    let view = View { open: open_line(desk)?, ..view(desk, &kept, &form, forecast.as_ref(), &all) };
    let content = Content::of(title, &view).beside(beside);
    Ok(if all.is_empty() { content } else { content.refused() })
}

/// The forecast, and the form without a fore-edge of other leaves.
fn told(kept: &Kept, form: Form) -> Result<(Forecast, Form), Turned> {
    check_extent(&form)?;
    let args = |form: &Form| one_extent(form).args::<Args>(&of_plan());
    let spec = args(&form)?.spec()?;
    let form = of_leaves(&form, &spec);
    Ok((args(&form)?.forecast(&spec, kept.fitted())?, form))
}

fn titles(forecast: &Forecast) -> (String, String) {
    let plan = &forecast.plan;
    let title = match plan.runs() {
        [run] => short_words(run.sewing, &run.thread.name),
        runs => format!(
            "{} in {}",
            plural(plan.sections() as usize, "section"),
            plural(runs.len(), "run")
        ),
    };
    (title, plan_line(plan))
}

fn view(
    desk: &Desk,
    kept: &Kept,
    form: &Form,
    forecast: Option<&Forecast>,
    faults: &[Fault],
) -> View {
    let config = kept.book.config();
    let sent = one_extent(form);
    let keep = Field::text("keep", "Name of the sewing").hint(
        "Keep it before the book is measured, under the name that the sewing will have as a trial. \
         You will see later how close it came.",
    );
    let controls = (!form.has("run")).then(|| controls(kept, form, faults));
    let (keep, save) = (keep.filled(form, faults), save_fields(&kept.book, form, faults));
    let tried = controls.iter().flat_map(|it| it.fields.iter().chain(&it.more));
    let fields: Vec<&Field> = tried.chain(&save).chain([&keep]).collect();
    // An answer to a change of the controls renews only the outcome, so this names the fields.
    let whole = |fault: &Fault| match fields.iter().find(|field| field.name() == fault.field) {
        Some(field) if forecast.is_none() => Some(format!("{}: {}", field.label(), fault.message)),
        Some(_) => None,
        None => Some(fault.message.clone()),
    };
    let whole = faults.iter().filter_map(whole).collect();
    let with = |fields: &[&str]| -> Vec<(String, String)> {
        let pairs = sent.pairs().filter(|pair| fields.contains(&pair.0) && !pair.1.is_empty());
        pairs.map(|pair| (pair.0.to_owned(), pair.1.to_owned())).collect()
    };
    let seen = forecast.map(|forecast| (SEEN.to_owned(), figures(forecast)));
    View {
        outcome: forecast.map(|forecast| outcome(forecast, config, edge_note(form))),
        faults: whole,
        plan: with(&of_plan()).into_iter().chain(seen).collect(),
        keep,
        save,
        seal: desk.seal(),
        read_only: desk.is_read_only(),
        open: None,
        card: sent.address("/plan/card", &[&of_plan()[..], BESIDE].concat()),
        part_way: part_way(&sent, forecast),
        controls,
    }
}

fn controls(kept: &Kept, form: &Form, faults: &[Fault]) -> Controls {
    let book = &*kept.book;
    let unit = book.config().unit.symbol();
    let sheets = form.get("sheets").and_then(|sheets| sheets.parse().ok()).unwrap_or(4);
    let form = &with_bounds(form, book);
    let [low, high] = bounds();
    let (blank, smaller) =
        (Choice::new("blank", "blank leaves"), Choice::new("smaller", "a smaller section"));
    let fill = |field: Field| field.filled(form, faults);
    let fields = [
        threads(book),
        patterns(form.get("on")),
        Field::typed("ends", "Sections at each end sewn all along", Typed::Counts)
            .hint("Three is usual with two-on and three-on"),
        Field::yes("boned", "Folds boned"),
        Field::typed("sections", "Sections", Typed::Count)
            .hint("Or leave it empty and give the leaves"),
    ];
    let more = [
        papers(book),
        Field::typed("leaves", "Leaves", Typed::Count),
        Field::typed("pages", "Or pages", Typed::Count),
        Field::choice("left-over", "Leaves left over make", vec![blank, smaller]).offer("blank"),
        targets(book, OWN),
        low,
        high,
        states("state", "State to predict"),
        Field::typed("fore-edge", "Fore-edge of the folded leaves, if measured", Typed::Number)
            .unit(unit),
        guards(),
    ];
    let more: Vec<Field> =
        more.into_iter().chain(hands(kept.fitted(), form.get("hand"))).map(fill).collect();
    let is_more = |fault: &Fault| more.iter().any(|field| field.name() == fault.field);
    let hidden = form.pairs().filter(|pair| BESIDE.contains(&pair.0));
    Controls {
        hidden: hidden.map(|pair| (pair.0.to_owned(), pair.1.to_owned())).collect(),
        measured_on: form.get(MEASURED_ON).unwrap_or_default().to_owned(),
        sheets,
        most: SLID.max(sheets),
        open: faults.iter().any(is_more),
        fields: fields.into_iter().map(fill).collect(),
        more,
    }
}

fn outcome(forecast: &Forecast, config: &Config, note: Option<String>) -> Outcome {
    let target = forecast.target.as_ref();
    let (percent, nominal) = (forecast.percent, forecast.nominal.percent.q50);
    let scale = scale([percent], [nominal], target);
    let mut lines: Vec<String> =
        forecast.divided.iter().map(|divided| divided_words(divided, Place::Page)).collect();
    lines.extend(geometry_line(forecast, config));
    lines.extend(guards_line(forecast, config));
    let share = |(words, percent): (&str, f64)| {
        let bar = rounded(percent.clamp(0.0, 100.0), 0);
        [words.to_owned(), rounded(percent, 0).replace('-', "\u{2212}"), bar]
    };
    let mut beside = vec![fore_edge_line(forecast, config), nominal_line(forecast, config)];
    beside.extend(forecast.leaning.as_ref().map(|it| leaning_line(it, &forecast.grounds)));
    beside.push(source_line(forecast.trials_used, &forecast.grounds));
    Outcome {
        chance: forecast.chance.map(large),
        target: target.map(band_words).unwrap_or_default(),
        strip: Strip { ticks: true, ..strip(percent, target, Some(nominal), &scale) },
        sections: plural(forecast.plan.sections() as usize, "section"),
        swell: swell_line(forecast, config),
        lines,
        notes: note.into_iter().chain(plan_notes(forecast, config.unit)).collect(),
        beyond: beyond_words(forecast, config),
        budget: budget_parts(forecast).into_iter().map(share).collect(),
        advice: advice_words(forecast),
        beside,
    }
}
