//! The sentences of the bench card.

use super::answer_card::{Card, CardRun};
use super::draw_card_content::CardView;
use crate::book::Config;
use crate::draw::html::{Column, PageTable};
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::plan::answer_changes::{Change, Changed};
use crate::jobs::plan::answer_way::Way;
use crate::jobs::plan_spec::text::{band_words, pattern_words, plan_line, sewing_words};
use crate::jobs::plan_spec::text_way::caution_words;
use crate::model::Run;
use crate::terminal::number::{book_height, gauged_length, plural, thread_figure, thread_length};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::capital;
use crate::trade::{Caution, WANTED_ENDS};
use crate::units::LengthUnit;
use std::collections::BTreeSet;

pub(crate) fn target(forecast: &Forecast) -> String {
    match (&forecast.target, forecast.chance) {
        (Some(band), Some(chance)) => format!(
            "{} chance of meeting the target ({})",
            chance_in_figures(chance),
            band_words(band)
        ),
        (None, _) | (_, None) => "No target was given".to_owned(),
    }
}

/// With more runs than this, only the table lists them, or the card would not fit one sheet.
const NAMED_RUNS: usize = 4;

pub(crate) fn plan_words(card: &Card) -> String {
    let plan = &card.forecast.plan;
    match card.runs.len() {
        few if few <= NAMED_RUNS => plan_line(plan),
        runs => format!(
            "{} sections ({} leaves) in {runs} runs, listed below, {}.",
            plan.sections(),
            plan.leaves(),
            plan.state.phrase()
        ),
    }
}

/// For whose hand the book is predicted; `None` in a book of one hand that was not named.
pub(crate) fn hand_words(card: &Card) -> Option<String> {
    match card.hand.as_deref() {
        Some("") => Some("Sewn by the hand of the trials without a name.".to_owned()),
        Some(hand) => Some(format!("Sewn by {hand}.")),
        None if card.forecast.said.new_hand => {
            Some("No hand was named: predicted for a hand new to this book.".to_owned())
        }
        None => None,
    }
}

pub(crate) fn change_line(changed: &Changed) -> String {
    let way = &changed.choice.way;
    let (sections, sheets) = (way.sewing.sections(), way.sewing.sheets());
    let words = match changed.change {
        Change::Thread => format!("sew with {}", way.thread.name),
        Change::Sheets => format!(
            "fold {} of {}{}",
            plural(sections.into(), "section"),
            plural(sheets.into(), "sheet"),
            blank_words(way)
        ),
        Change::On => sewing_words(way.sewing).replacen("sewn", "sew", 1),
        Change::Boned if way.boned => "bone the folds".to_owned(),
        Change::Boned => "leave the folds unboned".to_owned(),
    };
    let chance = chance_in_figures(changed.choice.chance);
    format!("One change would raise the chance to {chance}: {words}.")
}

/// ` (112 leaves, 12 of them blank)`: a change must not add leaves in silence.
fn blank_words(way: &Way) -> String {
    let all = way.sewing.leaves();
    match way.blank_leaves {
        0 => String::new(),
        blank => format!(" ({all} leaves, {blank} of them blank)"),
    }
}

pub(crate) fn fore_edge(forecast: &Forecast, config: &Config) -> String {
    let edge = forecast.fore_edge;
    let length = |value| gauged_length(value, 4.0 * edge.sd, config);
    let how = if forecast.plan.fore_edge.is_some() { "as measured folded" } else { "predicted" };
    format!(
        "Fore-edge {} {unit}, give or take {} {unit} ({how}).",
        length(edge.mean),
        length(edge.sd),
        unit = config.unit
    )
}

/// How much of which thread to lay ready, and for which height.
pub(crate) fn thread_line(view: &CardView<'_>) -> String {
    let card = view.card;
    let unit = view.config.unit;
    let threads = match &card.runs[..] {
        [run] => format!("{} of {}", thread_length(run.thread, unit), run.run.thread.name),
        _ => "the thread of each line".to_owned(),
    };
    let taken = if view.height_given { "" } else { ", assumed as none was given" };
    let height = book_height(card.at.height.mm(), unit);
    format!(
        "Have ready {threads}, for a book {height} high{taken}, with a tenth to spare (common \
         practice)."
    )
}

pub(crate) fn runs_table(card: &Card, unit: LengthUnit) -> PageTable {
    let words = ["sections", "folded from", "paper", "thread", "sewn"];
    let columns = Column::of(&words, &[&format!("thread, {}", unit.of_thread().0)]);
    PageTable::new("", columns, card.runs.iter().map(|run| row(run, unit)))
}

fn row(run: &CardRun, unit: LengthUnit) -> Vec<String> {
    let Run { paper, thread, sewing, boned } = &run.run;
    let first = run.before + 1;
    let last = run.before + u32::from(sewing.sections());
    let novelty = |level: Option<usize>| if level.is_some() { "" } else { " (new)" };
    let shared = run.stretches.iter().any(|stretch| stretch.on > 1);
    let pattern = pattern_words(if shared { sewing.on() } else { 1 });
    let boned = if *boned { ", boned" } else { "" };
    vec![
        if first == last { format!("{first}") } else { format!("{first} to {last}") },
        plural(sewing.sheets().into(), "sheet"),
        format!("{}{}", paper.name, novelty(paper.level)),
        format!("{}{}", thread.name, novelty(thread.level)),
        format!("{pattern}{boned}"),
        thread_figure(run.thread, unit),
    ]
}

/// The cautions, each once, and the rules of the workshop.
pub(crate) fn care(card: &Card, unit: LengthUnit) -> Vec<String> {
    let found: BTreeSet<Caution> =
        card.runs.iter().flat_map(|run| run.cautions.iter().copied()).collect();
    let items = found.into_iter().map(|caution| against(caution, unit));
    items.chain([WORKSHOP.to_owned()]).collect()
}

/// The rules of the workshop, on the card and in the report.
pub(crate) const WORKSHOP: &str = "Needles, knives and hammers can injure you, and damage to an old \
                                   book is permanent. The rules of your workshop come first. Ask a \
                                   conservator before you work on anything old or valuable.";

fn against(caution: Caution, unit: LengthUnit) -> String {
    let words = match caution {
        Caution::ShortEnds => {
            format!("fewer than {WANTED_ENDS} sections at an end of the book are sewn all along")
        }
        Caution::ThinThread
        | Caution::ThickThread
        | Caution::SkippedKettles
        | Caution::FewSupports
        | Caution::ThickSections => caution_words(caution, unit),
    };
    format!("{} (common practice).", capital(&words))
}
