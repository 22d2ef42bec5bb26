//! The bench card: a planned book on one page.

use super::answer_card::{Card, CardRun, SpineCheck};
use super::draw_thread_way::{kettle_words, stretches, supports_words};
use crate::book::Config;
use crate::draw::html::{Block, Page, PageError, PageKind, PageTable, Part};
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::forecast::text::{beyond_words, source_line, swell_words};
use crate::jobs::forecast::text_planned::{divided_line, geometry_line, guards_line};
use crate::jobs::plan_spec::text::{band_words, pattern_words};
use crate::jobs::plan_spec::text_way::caution_words;
use crate::model::Run;
use crate::terminal::number::{gauged_length, plural, ranged_length, rounded};
use crate::terminal::odds::chance_in_figures;
use crate::trade::{Caution, WANTED_ENDS};
use askama::Template;
use jiff::civil::Date;

/// A height is shown as if it were known to a tenth of this.
const HEIGHT_STEP_MM: f64 = 10.0;

/// Everything that a bench card is made of.
#[derive(Clone, Debug)]
pub struct CardView<'a> {
    /// The book that it was predicted from.
    pub config: &'a Config,
    /// The day.
    pub made: Date,
    /// What the plan is called, where it has a name.
    pub title: Option<&'a str>,
    pub card: &'a Card,
    /// Whether the height was given and not taken.
    pub height_given: bool,
    /// Whether the supports were given and not taken.
    pub supports_given: bool,
}

/// The card as one HTML page that needs nothing else.
///
/// # Errors
/// [`PageError::Template`].
pub fn card_html(view: &CardView<'_>) -> Result<String, PageError> {
    let parts = vec![outcome(view), sections(view), sewing(view), spine(view), care(view.card)];
    let title = view.title.map_or("Bench card".to_owned(), |title| format!("Bench card: {title}"));
    Ok(Page::new(PageKind::Card, title, view.made, parts).render()?)
}

/// The odds first.
fn outcome(view: &CardView<'_>) -> Part {
    let CardView { config, card, .. } = view;
    let forecast = &card.forecast;
    let edge = forecast.fore_edge;
    let length = |value| gauged_length(value, 4.0 * edge.sd, config);
    let how = if forecast.plan.fore_edge.is_some() { "as measured folded" } else { "predicted" };
    let swell = format!(
        "Swell, {}: {}. Fore-edge: {} {unit}, give or take {} {unit} ({how}). {}",
        forecast.plan.state.phrase(),
        swell_words(forecast, config),
        length(edge.mean),
        length(edge.sd),
        source_line(forecast.trials_used),
        unit = config.unit,
    );
    let mut words = vec![target(forecast), swell];
    words.extend(geometry_line(forecast, config));
    words.extend(guards_line(forecast, config));
    words.extend(beyond_words(forecast, config));
    let blocks = words.into_iter().map(Block::Words).collect();
    Part { id: "outcome", heading: "Forecast", blocks }
}

fn target(forecast: &Forecast) -> String {
    match (&forecast.target, forecast.chance) {
        (Some(band), Some(chance)) => format!(
            "Target {}: {} chance of meeting it.",
            band_words(band),
            chance_in_figures(chance)
        ),
        (None, _) | (_, None) => "No target was given.".to_owned(),
    }
}

/// What is folded and what is laid ready.
fn sections(view: &CardView<'_>) -> Part {
    let card = view.card;
    let columns = ["sections", "folded from", "paper", "thread", "sewn", "thread to lay ready, m"];
    let mut table = PageTable::new("", &columns);
    table.rows = card.runs.iter().map(row).collect();
    let taken = if view.height_given { "" } else { ", taken as none was given" };
    let unit = view.config.unit;
    let height = ranged_length(card.height.mm().mm(), HEIGHT_STEP_MM, unit);
    let mut blocks = vec![
        Block::Table(table),
        Block::Words(format!(
            "{}, {} leaves in all. The thread is for a book {height} {unit} high{taken}, with a \
             tenth to spare (common practice).",
            plural(card.forecast.plan.sections() as usize, "section"),
            card.forecast.plan.leaves(),
        )),
    ];
    blocks.extend(card.forecast.divided.iter().map(|one| Block::Words(divided_line(one))));
    Part { id: "sections", heading: "Sections and thread", blocks }
}

fn row(run: &CardRun) -> Vec<String> {
    let Run { paper, thread, sewing, boned } = &run.run;
    let first = run.before + 1;
    let last = run.before + u32::from(sewing.sections());
    let novelty = |level: Option<usize>| if level.is_some() { "" } else { " (new)" };
    let shared = run.stretches.iter().any(|stretch| stretch.on > 1);
    let pattern = pattern_words(if shared { sewing.on() } else { 1 });
    let boned = if *boned { ", folds boned" } else { "" };
    vec![
        if first == last { format!("{first}") } else { format!("{first} to {last}") },
        plural(sewing.sheets().into(), "sheet"),
        format!("{}{}", paper.name, novelty(paper.level)),
        format!("{}{}", thread.name, novelty(thread.level)),
        format!("{pattern}{boned}"),
        rounded(run.thread.mm() / 1000.0, 1),
    ]
}

fn sewing(view: &CardView<'_>) -> Part {
    let card = view.card;
    let blocks = vec![
        Block::Words(supports_words(card.supports, view.supports_given)),
        Block::List(stretches(card)),
        Block::Words(format!("Kettle stitches (common practice): {}", kettle_words(card))),
    ];
    Part { id: "sewing", heading: "The way of the thread", blocks }
}

/// What the caliper is to find on the way.
fn spine(view: &CardView<'_>) -> Part {
    let CardView { config, card, .. } = view;
    let unit = config.unit;
    let expected = format!("expected, {unit}");
    let range = format!("90 % range, {unit}");
    let mut table =
        PageTable::new("", &["sections sewn", expected.as_str(), range.as_str(), "measured"]);
    table.rows = card.checks.iter().map(|check| check_row(check, config)).collect();
    let blocks = vec![
        Block::Words(
            "One reading at the fold of the sections sewn so far, at the end of a traverse, \
             measured as you measure a trial block as sewn:"
                .to_owned(),
        ),
        Block::Table(table),
        Block::Words(
            "Outside the range: stop, measure spine and fore-edge at two or three places, and ask \
             \u{2018}swellbook midway\u{2019} with this plan before you go on."
                .to_owned(),
        ),
    ];
    Part { id: "spine", heading: "The spine on the way", blocks }
}

fn check_row(check: &SpineCheck, config: &Config) -> Vec<String> {
    let spine = check.spine;
    let length = |value| gauged_length(value, spine.q95 - spine.q05, config);
    vec![
        check.sewn.to_string(),
        length(spine.q50),
        format!("{} to\u{a0}{}", length(spine.q05), length(spine.q95)),
        String::new(),
    ]
}

/// What speaks against it, each once, and the rules of the workshop.
fn care(card: &Card) -> Part {
    let mut found: Vec<Caution> = Vec::new();
    for caution in card.runs.iter().flat_map(|run| &run.cautions) {
        if !found.contains(caution) {
            found.push(*caution);
        }
    }
    found.sort_unstable();
    let mut items: Vec<String> = found.into_iter().map(against).collect();
    items.push(
        "Needles, knives and hammers can injure you, and damage to an old book is permanent. The \
         rules of your workshop come first. Ask a conservator before you work on anything old or \
         valuable."
            .to_owned(),
    );
    Part { id: "care", heading: "Take care", blocks: vec![Block::List(items)] }
}

/// A caution as a sentence of its own.
fn against(caution: Caution) -> String {
    let words = match caution {
        Caution::ShortEnds => {
            format!("fewer than {WANTED_ENDS} sections at an end of the book are sewn all along")
        }
        Caution::ThinThread
        | Caution::ThickThread
        | Caution::SkippedKettles
        | Caution::FewSupports
        | Caution::ThickSections => caution_words(caution),
    };
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{} (common practice).", letters.as_str())
}
