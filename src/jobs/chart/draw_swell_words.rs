//! The title, caption and panel details of the chart `swell`.

use super::answer_swell::{CurvePoint, SwellPoint, SwellView, ThreadCurve};
use crate::jobs::beliefs::text_grounds::{heading, untried_line};
use crate::jobs::plan_spec::text::{band_words, sewer_sentence};
use crate::terminal::number::{plural, ranged_length};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::{listed, percent_range};
use crate::units::LengthUnit;

/// `0.47 mm, 3 trials`.
pub(super) fn details(curve: &ThreadCurve, unit: LengthUnit) -> String {
    /// Shows diameters with two digits.
    const STEP_MM: f64 = 0.1;
    let trials = match curve.trials.len() {
        0 => "no trial".to_owned(),
        count => plural(count, "trial"),
    };
    format!("{} {unit}, {trials}", ranged_length(curve.diameter_mm, STEP_MM, unit))
}

/// The finding about the target or, without one, about the threads.
pub(super) fn title(view: &SwellView) -> String {
    let basis = match view.trials_used {
        0 => format!(", by {} alone", heading(&view.grounds)),
        _ => String::new(),
    };
    let finding = if view.target.is_some() { by_target(view) } else { by_thread(view) };
    format!("{finding}{basis}")
}

fn by_target(view: &SwellView) -> String {
    let paper = &view.paper;
    let likely: Vec<&str> =
        view.threads.iter().filter(|it| it.is_likely()).map(|it| it.thread.as_str()).collect();
    let odds = "more often than not";
    match (&view.threads[..], &likely[..]) {
        ([only], []) => format!("With {}, {paper} misses the target {odds}", only.thread),
        ([only], _) => format!("With {}, {paper} meets the target {odds}", only.thread),
        (_, []) => format!("With every thread {paper} misses the target {odds}"),
        (_, [one]) => format!("Only with {one} does {paper} meet the target {odds}"),
        (all, [one, other]) if all.len() > 2 => {
            format!("With {one} or {other}, {paper} meets the target {odds}")
        }
        (all, some) if all.len() == some.len() => {
            format!("With every thread {paper} meets the target {odds}")
        }
        (all, some) => {
            format!("With {} of {} threads {paper} meets the target {odds}", some.len(), all.len())
        }
    }
}

/// The typical book of each thread, least swell first.
fn typical(view: &SwellView) -> Vec<(&ThreadCurve, &CurvePoint)> {
    let mut all: Vec<(&ThreadCurve, &CurvePoint)> =
        view.threads.iter().filter_map(|curve| Some((curve, curve.typical()?))).collect();
    all.sort_by(|a, b| a.1.percent.q50.total_cmp(&b.1.percent.q50));
    all
}

fn by_thread(view: &SwellView) -> String {
    let (paper, all) = (&view.paper, typical(view));
    let figure = |point: &CurvePoint| format!("about {:.0} %", point.percent.q50);
    let range = |point: &CurvePoint| percent_range(point.percent.each()).1;
    match all[..] {
        [] => paper.clone(),
        [(only, point)] => {
            format!("With {}, {paper} swells {} %", only.thread, range(point))
        }
        [(least, low), .., (most, high)] => format!(
            "{paper} swells from {} with {} to {} with {}",
            figure(low),
            least.thread,
            figure(high),
            most.thread
        ),
    }
}

/// What is drawn, the odds or the ranges of a typical book, and what the trials are.
pub(super) fn caption(view: &SwellView, outside: &[&SwellPoint]) -> String {
    let boned = if view.boned { "boned" } else { "not boned" };
    let mut sentences = vec![format!(
        "{}, {} to the section, sewn all along, folds {boned}, {}.{}",
        view.paper,
        plural(usize::from(view.sheets), "sheet"),
        view.state.phrase(),
        sewer_sentence(view.sewer.as_ref())
    )];
    sentences.extend(answer(view));
    sentences.extend(trials(view));
    sentences.extend(match outside {
        [] => None,
        [one] => Some(format!("{} lies beyond the edge.", one.trial)),
        _ => Some(format!("{} lie beyond the edge.", plural(outside.len(), "trial"))),
    });
    sentences.push(match view.trials_used {
        0 => untried_line(&view.grounds),
        count => format!("Based on {} of all papers.", plural(count, "trial")),
    });
    sentences.join(" ")
}

/// The odds of the target with each thread, best first; the ranges without a target.
fn answer(view: &SwellView) -> Option<String> {
    const MOST: usize = 4;
    let mut all = typical(view);
    let sections = plural(usize::from(all.first()?.1.sections), "section");
    let chance = |point: &CurvePoint| point.chance.unwrap_or_default();
    let range = |point: &CurvePoint| {
        let (middle, range) = percent_range(point.percent.each());
        format!("{middle} % ({range} %)")
    };
    let (opening, each): (String, Vec<String>) = match &view.target {
        Some(target) => {
            all.sort_by(|a, b| chance(b.1).total_cmp(&chance(a.1)));
            let words = |(curve, point): &(&ThreadCurve, &CurvePoint)| {
                format!("{} with {}", chance_in_figures(chance(point)), curve.thread)
            };
            let opening = format!("the chance of the target ({}) is", band_words(target));
            (opening, all.iter().map(words).collect())
        }
        None => {
            let words = |(curve, point): &(&ThreadCurve, &CurvePoint)| {
                format!("{} with {}", range(point), curve.thread)
            };
            let opening = "the swell and its 90 % range are".to_owned();
            (opening, all.iter().map(words).collect())
        }
    };
    let others = each.len().saturating_sub(MOST);
    let more = if others > 0 { format!(" (drawn too: {others} more)") } else { String::new() };
    let listed = listed(&each[..each.len().min(MOST)]);
    Some(format!("In a book of {sections} {opening} {listed}{more}."))
}

fn trials(view: &SwellView) -> Vec<String> {
    let drawn: Vec<&SwellPoint> = view.threads.iter().flat_map(|curve| &curve.trials).collect();
    let state = view.state.phrase();
    let otherwise = drawn.iter().filter(|trial| !trial.is_alike).count();
    let mut sentences = vec![match drawn.len() {
        0 => format!("No trial of this paper with these threads was measured {state}."),
        1 => "One trial of this paper is drawn.".to_owned(),
        count => format!("{count} trials of this paper are drawn."),
    }];
    sentences.extend((otherwise > 0).then(|| {
        format!(
            "{otherwise} {} sewn another way (other sheets, sewing, boning or repairs) and may \
             therefore lie off the line.",
            if otherwise == 1 { "was" } else { "were" }
        )
    }));
    sentences.extend((view.unmeasured > 0).then(|| {
        let were = if view.unmeasured == 1 { "was" } else { "were" };
        format!("{} of this paper {were} not measured {state}.", plural(view.unmeasured, "trial"))
    }));
    sentences
}
