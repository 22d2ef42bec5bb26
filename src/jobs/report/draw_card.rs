//! The bench card: a planned book on one sheet.

use super::answer_card::{Card, SpineCheck};
use super::draw_card_content::CardView;
use super::draw_card_picture::{expected, range_on_target};
use super::draw_card_room::Load;
use super::draw_card_words::{
    care, change_line, fore_edge, hand_words, plan_words, runs_table, target, thread_line,
};
use super::draw_thread_path::thread_path;
use super::draw_thread_way::{STROKES, kettle_words, stretches, supports_words, traverses};
use crate::book::Config;
use crate::draw::html::{Block, Blocks, Head, PageError};
use crate::draw::render;
use crate::draw::scene::Scene;
use crate::jobs::forecast::text::{beyond_words, source_line};
use crate::jobs::forecast::text_planned::{divided_line, geometry_line, guards_line};
use crate::terminal::number::gauged_length;
use crate::terminal::words::tied;
use askama::Template;

/// The widths of a picture on the sheet and on a phone, in pixels. In print, a pixel of the first
/// is a pixel of the sheet.
const WIDTHS: [f64; 2] = [700.0, 340.0];
/// The most traverses with their own boxes; in a longer book, several share a pair.
const MOST_TICKS: usize = 96;
/// Pairs of boxes that fit side by side: with single numbers, and with longer labels.
const ACROSS: [usize; 2] = [8, 6];
/// How to use the table of spine thicknesses.
const MEASURE: &str = "One reading at the fold, as sewn, at the end of a traverse. Outside the \
                       range: stop, measure both edges at two or three places, and ask \
                       \u{2018}swellbook midway\u{2019} (at the end, record them).";

#[derive(Template)]
#[template(path = "card.html")]
struct Sheet {
    head: Head,
    title: String,
    plan: String,
    made: String,
    /// The basis of the prediction.
    from: String,
    /// The size of the letters that keeps the card on one sheet.
    letters: &'static str,
    /// The chance, shown in large letters.
    target: String,
    range: [String; 2],
    outcome: Vec<Block>,
    ready: Vec<Block>,
    /// The drawing of the thread's path, if it can be drawn.
    path: Option<[String; 2]>,
    way: Vec<Block>,
    ticks: Vec<String>,
    /// Whether all labels of boxes are single numbers.
    is_short: bool,
    unit: String,
    checks: Vec<[String; 3]>,
    measure: &'static str,
    care: Vec<Block>,
}

pub fn card_html(view: &CardView<'_>) -> Result<String, PageError> {
    let CardView { config, card, made, .. } = view;
    let title = view.title.map_or("Bench card".to_owned(), |title| format!("Bench card: {title}"));
    let ticks = ticks(&traverses(card));
    let (outcome, way, care) = (outcome(view), way(view), care(card, config.unit));
    let is_short = ticks.iter().all(|tick| tick.len() <= 3);
    let plan: Vec<String> = [plan_words(card)].into_iter().chain(hand_words(card)).collect();
    let plan = plan.join(" ");
    let divided: Vec<String> = card.forecast.divided.iter().map(divided_line).collect();
    let said = [&outcome[..], &divided, &way, &[plan.clone(), MEASURE.to_owned()]].concat();
    let ranges = WIDTHS.map(|width| range_on_target(view, width));
    let load = Load {
        words: said.iter().map(String::as_str).collect(),
        care: &care,
        pictures: ranges[0].height + thread_path(card, WIDTHS[0]).map_or(0.0, |path| path.height),
        rows: if card.runs.len() > 1 { card.runs.len() + 1 } else { 0 },
        ticks: (ticks.len(), ACROSS[usize::from(!is_short)]),
        checks: card.checks.len(),
    };
    let sheet = Sheet {
        head: Head::plain(title.clone(), &format!("{title}, {made}")),
        title,
        plan,
        made: made.to_string(),
        from: format!(
            "{}. {}",
            config.title,
            source_line(card.forecast.trials_used, &card.forecast.grounds)
        ),
        letters: load.letters(),
        target: target(&card.forecast),
        range: pair("The predicted swell against its target", &expected(view), &ranges)?,
        outcome: blocks(outcome),
        ready: ready(view, divided),
        path: path(card)?,
        way: blocks(way),
        is_short,
        ticks,
        unit: config.unit.to_string(),
        checks: card.checks.iter().map(|check| check_row(check, config)).collect(),
        measure: MEASURE,
        care: vec![Block::List(care)],
    };
    Ok(sheet.render()?)
}

/// A picture for the sheet and for a phone, with a text description for accessibility.
fn pair(title: &str, words: &str, scenes: &[Scene; 2]) -> Result<[String; 2], PageError> {
    let [wide, narrow] = scenes.each_ref().map(|scene| render::svg(scene, title, words));
    Ok([wide?, narrow?])
}

fn path(card: &Card) -> Result<Option<[String; 2]>, PageError> {
    match WIDTHS.map(|width| thread_path(card, width)) {
        [Some(wide), Some(narrow)] => {
            let words = stretches(card).join(" ");
            pair("The thread's path", &words, &[wide, narrow]).map(Some)
        }
        _ => Ok(None),
    }
}

fn blocks(words: Vec<String>) -> Vec<Block> {
    words.into_iter().map(|words| Block::Words(words).tied()).collect()
}

/// The text below the picture.
fn outcome(view: &CardView<'_>) -> Vec<String> {
    let CardView { config, card, .. } = view;
    let forecast = &card.forecast;
    let mut words: Vec<String> = view.change.map(change_line).into_iter().collect();
    words.push(format!("{} {}", fore_edge(forecast, config), thread_line(view)));
    words.extend(geometry_line(forecast, config));
    words.extend(guards_line(forecast, config));
    words.extend(beyond_words(forecast, config));
    words
}

/// The runs of a mixed book, and how leaves were divided. A book of one run needs no table,
/// because its plan line says it all.
fn ready(CardView { card, config, .. }: &CardView<'_>, divided: Vec<String>) -> Vec<Block> {
    let runs = (card.runs.len() > 1).then(|| Block::Table(runs_table(card, config.unit)));
    runs.into_iter().chain(blocks(divided)).collect()
}

fn way(view: &CardView<'_>) -> Vec<String> {
    let card = view.card;
    let mut words = vec![supports_words(card.at.supports, view.supports_given)];
    if thread_path(card, WIDTHS[0]).is_some() {
        words[0].push_str(STROKES);
    } else {
        words.extend(stretches(card));
    }
    words.push(format!("Kettle stitches: {}", kettle_words(card)));
    words
}

/// A label for each pair of boxes: the sections of a traverse, or of several in a long book.
fn ticks(traverses: &[(u32, u32)]) -> Vec<String> {
    let each = traverses.len().div_ceil(MOST_TICKS).max(1);
    let word = |group: &[(u32, u32)]| {
        let (first, last) = (group.first()?.0, group.last()?.1);
        Some(match last - first {
            0 => format!("{first}"),
            1 => format!("{first}+{last}"),
            _ => format!("{first}\u{2013}{last}"),
        })
    };
    traverses.chunks(each).filter_map(word).collect()
}

fn check_row(check: &SpineCheck, config: &Config) -> [String; 3] {
    let spine = check.spine;
    let length = |value| gauged_length(value, spine.q95 - spine.q05, config);
    [
        check.sewn.to_string(),
        length(spine.q50),
        tied(&format!("{} to\u{a0}{}", length(spine.q05), length(spine.q95))),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_traverse_has_its_boxes_until_they_are_too_many() {
        assert_eq!(ticks(&[(1, 1), (2, 3), (4, 6)]), ["1", "2+3", "4\u{2013}6"]);
        let long: Vec<(u32, u32)> = (1..=200).map(|section| (section, section)).collect();
        let shared = ticks(&long);
        assert!(shared.len() <= MOST_TICKS, "{}", shared.len());
        assert_eq!(
            (shared[0].as_str(), shared.last().unwrap().as_str()),
            ("1\u{2013}3", "199+200")
        );
    }
}
